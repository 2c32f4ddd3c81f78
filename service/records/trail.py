"""The trail: whatever a transaction changed without an event of its own is told by one more, by the names of fields.

Names only, never what stood or stands in them, so that nothing of a person gets into what is never altered. It is
written by the sessions themselves: a use case tells more where there is more to tell, but cannot forget to tell.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import event, inspect
from sqlalchemy.orm import SessionTransaction
from sqlmodel import Session, SQLModel

from service.records.tables import Event

BY = "by"
"""Where a session keeps whose account it writes for; nobody's when a client, a command or the service itself writes."""

UNTOLD: Mapping[str, str] = {
    "event": "the trail itself",
    "event_seal": "seals of the trail",
    "last_seal": "the last of these seals",
    "tally": "a line of the log: it says itself who counted what and when, and is never altered",
    "needle_count": "the same, of needles and pins at a sitting",
    "login_session": "who is signed in where: it comes and goes, and her own pages show it",
    "known_browser": "that a browser signed in before",
    "sign_in_try": "how often a name or an address was tried; forgotten after a while",
    "window_visit": "which browser a link let in",
    "looked_at": "up to when somebody has looked",
    "table_wish": "after how long somebody wants to be told to look up: nobody else's business",
}
"""Tables whose rows are told of nowhere, and why."""

FOLLOWS: Mapping[str, tuple[str, ...]] = {
    "garment": ("planned_ms", "left_ms", "next_step_id", "start_by"),
    "step": ("done_tenths", "unit_ms"),
    "cloth": ("on_hand_um",),
    "supply": ("on_hand_thousandths",),
    "share_link": ("first_opened_at", "last_opened_at", "times_opened"),
    "second_step": ("last_counter",),
}
"""Columns reckoned from what is told elsewhere (counts, guesses, what came and went), or that only say who looked."""

STUDIO = "studio"
OF: Mapping[str, tuple[str, str]] = {
    "panel": ("garment", "garment_id"),
    "section": ("garment", "garment_id"),
    "step": ("garment", "garment_id"),
    "finishing_check": ("garment", "garment_id"),
    "risk_considered": ("garment", "garment_id"),
    "broken_sharp": ("garment", "garment_id"),
    "thread_used": ("garment", "garment_id"),
    "kept_result": ("garment", "garment_id"),
    "planned_hands": ("garment", "garment_id"),
    "child_measure": ("commission", "commission_id"),
    "share_link": ("commission", "commission_id"),
    "client_wish": ("commission", "commission_id"),
    "cloth_reading": ("cloth", "cloth_id"),
    "cloth_swatch": ("cloth", "cloth_id"),
    "cloth_use": ("cloth", "cloth_id"),
    "cloth_fibre": ("cloth", "cloth_id"),
    "supply_use": ("supply", "supply_id"),
    "handover_panel": ("handover", "handover_id"),
    "handover_place": ("handover", "handover_id"),
    "handover_material": ("handover", "handover_id"),
    "quote_line": ("quote", "quote_id"),
    "quote_garment": ("quote", "quote_id"),
    "quote_work": ("quote", "quote_id"),
    "quote_instalment": ("quote", "quote_id"),
    "stitcher_away": ("stitcher", "stitcher_id"),
    "extra_minutes": ("stitcher", "stitcher_id"),
    "earlier_pay": ("stitcher", "stitcher_id"),
    "calendar_link": ("account", "account_id"),
    "access_token": ("account", "account_id"),
    "second_step": ("account", "account_id"),
    "recovery_code": ("account", "account_id"),
    "way_in": ("account", "account_id"),
    "erasure": ("client", "client_id"),
    "charges": (STUDIO, ""),
    "charges_instalment": (STUDIO, ""),
    "maker": (STUDIO, ""),
    "message_words": (STUDIO, ""),
    "keeping": (STUDIO, ""),
}
"""Rows that are part of another record: which kind, and the column that names it; the studio itself is one alone."""

WHOLE = (
    *("client", "commission", "cloth", "supply", "design", "garment", "quote", "payment", "handover", "photo"),
    *("stitcher", "stitcher_payment", "rate_guess", "account", STUDIO),
)
"""Records that stand for themselves."""

WRITTEN_DOWN, CHANGED, TAKEN_OUT = "written down", "changed", "taken out"
ADDED, GONE = " added", " taken out"
Record = tuple[str, int]
_NOTED = "changes not told yet"


@dataclass(slots=True)
class Noted:
    """What became of one record in this transaction."""

    garment_id: int | None = None
    action: str = CHANGED
    what: dict[str, None] = field(default_factory=dict)

    def copy(self) -> "Noted":
        """The same, to go on from."""
        return Noted(self.garment_id, self.action, dict(self.what))


@dataclass(slots=True)
class Changes:
    """The records that a session changed, and those that its own events tell of."""

    noted: dict[Record, Noted] = field(default_factory=dict)
    told: set[Record] = field(default_factory=set)

    def copy(self) -> "Changes":
        """The same, to come back to when a savepoint is taken back."""
        return Changes({record: noted.copy() for record, noted in self.noted.items()}, set(self.told))


def tell_the_rest(session: Session) -> None:
    """Add an event for every record that this transaction changed and no event of its own tells of."""
    session.flush()
    changes: Changes | None = session.info.pop(_NOTED, None)
    if changes is None:
        return
    at, by = datetime.now(UTC), session.info.get(BY)
    for (kind, number), noted in changes.noted.items():
        if (kind, number) not in changes.told:
            told = Event(at=at, account_id=by, action=noted.action, object_kind=kind, object_id=number)
            told.garment_id, told.after = noted.garment_id, ", ".join(noted.what)
            session.add(told)


@event.listens_for(Session, "after_flush")
def _note(session: Session, _flushing: object) -> None:
    for row in session.new:
        if isinstance(row, Event):
            _changes(session).told.update(_records_of(row))
        elif found := _record_of(row):
            _note_one(session, row, found, WRITTEN_DOWN, (f"{_table(row)}{ADDED}",))
    for row in session.deleted:
        if found := _record_of(row):
            _note_one(session, row, found, TAKEN_OUT, (f"{_table(row)}{GONE}",))
    for row in session.dirty:
        if (found := _record_of(row)) and (names := tuple(_changed(row))):
            _note_one(session, row, found, CHANGED, names)


def _note_one(session: Session, row: Any, record: Record, action: str, names: tuple[str, ...]) -> None:
    noted = _changes(session).noted.setdefault(record, Noted())
    noted.garment_id = record[1] if record[0] == "garment" else noted.garment_id or getattr(row, "garment_id", None)
    if _table(row) != record[0]:
        names = names if action != CHANGED else tuple(f"{_table(row)}.{name}" for name in names)
    elif action != CHANGED:
        noted.action = action if noted.action == CHANGED else noted.action
        return
    elif noted.action == WRITTEN_DOWN:
        return
    noted.what.update(dict.fromkeys(names))


def _changes(session: Session) -> Changes:
    changes: Changes = session.info.setdefault(_NOTED, Changes())
    return changes


def _table(row: SQLModel) -> str:
    return str(row.__tablename__)


def _record_of(row: SQLModel) -> Record | None:
    table = _table(row)
    if table in UNTOLD:
        return None
    if table not in OF:
        return table, row.id  # type: ignore[attr-defined]
    kind, column = OF[table]
    return kind, getattr(row, column) if column else 1


def _records_of(told: Event) -> Iterator[Record]:
    kind = told.object_kind.replace(" ", "_")
    yield kind, told.object_id
    if told.garment_id is not None and OF.get(kind, ("",))[0] == "garment":
        yield "garment", told.garment_id


def _changed(row: SQLModel) -> Iterator[str]:
    before: Mapping[str, Any] = inspect(row).committed_state
    follows = FOLLOWS.get(_table(row), ())
    return (name for name, old in before.items() if name not in follows and old != getattr(row, name))


@event.listens_for(Session, "after_transaction_create")
def _keep_for_savepoint(session: Session, transaction: SessionTransaction) -> None:
    if transaction.nested:
        session.info[transaction] = _changes(session).copy()


@event.listens_for(Session, "after_soft_rollback")
def _take_back(session: Session, previous: SessionTransaction) -> None:
    session.info[_NOTED] = session.info.pop(previous, Changes())
