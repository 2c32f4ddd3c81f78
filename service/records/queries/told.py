"""All that is told of changes, newest first, with the names of the records that changed and of whoever changed them."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlmodel import col

from service.records.db import Reading
from service.records.queries.history import Happened, events_told, happened
from service.records.tables import (
    Account,
    Client,
    Cloth,
    Commission,
    Design,
    Event,
    Garment,
    Handover,
    Payment,
    Photo,
    Quote,
    RateGuess,
    Stitcher,
    StitcherPayment,
    Supply,
)
from service.records.trail import OF, STUDIO

PAGE = 50
AT_ONCE = 500
NAMES: Mapping[str, Any] = {
    "client": select(col(Client.id), col(Client.name)),
    "commission": select(col(Commission.id), col(Commission.title)),
    "cloth": select(col(Cloth.id), col(Cloth.name)),
    "supply": select(col(Supply.id), col(Supply.name)),
    "design": select(col(Design.id), col(Design.name)),
    "garment": select(col(Garment.id), col(Garment.name)),
    "stitcher": select(col(Stitcher.id), col(Stitcher.name)),
    "account": select(col(Account.id), col(Account.name)),
    "rate_guess": select(col(RateGuess.id), col(RateGuess.operation)),
    "quote": select(col(Quote.id), col(Commission.title)).join(Commission, col(Commission.id) == Quote.commission_id),
    "payment": select(col(Payment.id), col(Commission.title)).join(
        Commission, col(Commission.id) == Payment.commission_id
    ),
    "handover": select(col(Handover.id), col(Garment.name)).join(Garment, col(Garment.id) == Handover.garment_id),
    "photo": select(col(Photo.id), col(Garment.name)).join(Garment, col(Garment.id) == Photo.garment_id),
    "stitcher_payment": select(col(StitcherPayment.id), col(Stitcher.name)).join(
        Stitcher, col(Stitcher.id) == StitcherPayment.stitcher_id
    ),
}
"""How a record of each kind is called; a part of one is called as the record is."""
KINDS = (*NAMES, STUDIO)


@dataclass(frozen=True, slots=True)
class Change:
    """One event: the kind, number and name of the record it is told of, and what happened to it."""

    id: int
    kind: str
    number: int
    name: str
    what: Happened


def newest_changes(db: Reading, kind: str = "", before: int | None = None, limit: int = PAGE) -> list[Change]:
    """The newest changes of records of that kind (of all without one), told before the event of that number."""
    found = events_told().order_by(col(Event.id).desc()).limit(limit)
    if before is not None:
        found = found.where(col(Event.id) < before)
    if kind:
        found = found.where(col(Event.object_kind).in_(_words_for(kind)))
    rows = db.execute(found).all()
    records = {row.Event.id: _record_of(row.Event) for row in rows}
    names = _names(db, records.values())
    return [Change(row.Event.id, *(at := records[row.Event.id]), names.get(at, ""), happened(row)) for row in rows]


def every_change(db: Reading, kind: str = "") -> Iterator[Change]:
    """All of them, newest first, read some at a time."""
    before: int | None = None
    while some := newest_changes(db, kind, before, AT_ONCE):
        yield from some
        before = some[-1].id


def _words_for(kind: str) -> list[str]:
    parts = [table for table, (whole, _) in OF.items() if whole == kind]
    return [kind, *parts, *(part.replace("_", " ") for part in parts if "_" in part)]


def _record_of(event: Event) -> tuple[str, int]:
    kind = event.object_kind.replace(" ", "_")
    if OF.get(kind, ("",))[0] == "garment" and event.garment_id is not None:
        return "garment", event.garment_id
    return kind, event.object_id


def _names(db: Reading, records: Iterable[tuple[str, int]]) -> dict[tuple[str, int], str]:
    by_kind: dict[str, set[int]] = {}
    for kind, number in records:
        by_kind.setdefault(kind, set()).add(number)
    found: dict[tuple[str, int], str] = {}
    for kind, numbers in by_kind.items():
        if kind in NAMES:
            asked = NAMES[kind]
            rows: Sequence[Any] = db.execute(asked.where(asked.selected_columns[0].in_(numbers))).all()
            found.update({(kind, number): name for number, name in rows})
    return found
