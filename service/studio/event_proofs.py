"""What must hold of the events, which are never altered: their chain of seals, and the guards of the tables."""

from collections.abc import Iterator
from typing import Any

from sqlalchemy import Connection, select, text

from service.records.chain import COVERED, EVENTS, LAST, SEALS, reason_digest, seal_digest
from service.records.db import Reading
from service.studio.personal import ERASED, OF_A_CLIENT

CHAINED = (
    "every event says what it said when it was sealed",
    "every seal follows the one before it, and none is missing",
    "every event has its seal",
    "the words of an event are erased only with a client's data",
    "the tables refuse to alter or remove an event",
)
_UNSEALED = "select id from event where id not in (select event_id from event_seal) order by id"
_ERASED = f"select id from event where {OF_A_CLIENT}"  # noqa: S608 (all words are of our own)
_ERASURES = (
    "select client_id from erasure where client_id in"
    " (select object_id from event where action = 'data erased' and object_kind = 'client')"
)
_GUARDS = {
    "sqlite": "select name from sqlite_master where type = 'trigger'",
    "postgresql": "select tgname from pg_trigger where not tgisinternal and tgenabled = 'O'",
}
GUARDS = ("event_not_altered", "event_not_removed", "event_seal_not_altered", "event_seal_not_removed")


def broken_chain(db: Reading) -> Iterator[tuple[str, int]]:
    """What does not hold, with the number of the event, seal or guard."""
    here = db.connection()
    wiped = set[int]()
    for says, number in _along(here, wiped):
        yield says, number
    for (number,) in here.execute(text(_UNSEALED)):
        yield CHAINED[2], number
    if wiped:
        clients = here.execute(text(_ERASURES)).scalars().all()
        may_be = {number for client in clients for number in here.execute(text(_ERASED), {"client": client}).scalars()}
        yield from ((CHAINED[3], number) for number in sorted(wiped - may_be))
    standing = set(here.execute(text(_GUARDS[here.dialect.name])).scalars())
    yield from ((CHAINED[4], place) for place, name in enumerate(GUARDS, 1) if name not in standing)


def _along(here: Connection, wiped: set[int]) -> Iterator[tuple[str, int]]:
    """Go along the chain; what lost its words is added to `wiped`."""
    place, previous = 0, ""
    for row in _seals_with_events(here):
        place += 1
        if row.place != place or row.previous_sha256 != previous:
            yield CHAINED[1], row.place
            place = row.place
        of_reason, said = row.reason_sha256, tuple(row)[: len(COVERED)]
        if row.salt:
            of_reason = reason_digest(row.salt, row.reason or "")
        elif row.reason != ERASED:
            of_reason = ""
        else:
            wiped.add(row.event_id)
        if of_reason != row.reason_sha256 or seal_digest(row.previous_sha256, said, of_reason) != row.sha256:
            yield CHAINED[0], row.event_id
        previous = row.sha256
    last = here.execute(select(LAST.c.seals, LAST.c.sha256)).first()
    if (last or (0, "")) != (place, previous):
        yield CHAINED[1], place


def _seals_with_events(here: Connection) -> Any:
    seals = (SEALS.c.id.label("place"), *(column for column in SEALS.c if column.name != "id"))
    asked = select(*(EVENTS.c[name] for name in (*COVERED, "reason")), *seals)
    joined = asked.select_from(SEALS.outerjoin(EVENTS, EVENTS.c.id == SEALS.c.event_id)).order_by(SEALS.c.id)
    return here.execute(joined, execution_options={"yield_per": 2000})
