"""The log as pages show it: the newest entries of a garment or of one step."""

from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import Any

from sqlalchemy import String, and_, bindparam, cast, select
from sqlalchemy.orm import aliased
from sqlmodel import col

from service.records.db import Reading, Writing
from service.records.tables import Account, Event, Panel, Section, Step, Stitcher, Tally

PAGE = 50
MOST_CHANGES = 200
CHANGES = ("recounted", "given")
OF_TALLY = ("id", "step_id", "kind", "counted_tenths", "seconds", "reason", "overruled", "recorded_at", "at")
OF_EVENT = ("action", "object_kind", "object_id", "reason", "before", "after", "at")


@dataclass(frozen=True, slots=True)
class Entry:
    """One tally with its names; `who` is the stitcher, or the account where she is none.

    `taken_back` says that a later counter names this entry; `takes_back_of` is the moment of the entry that this
    counter names.
    """

    id: int
    step_id: int
    kind: str
    counted_tenths: int
    unit: str
    operation: str
    section: str
    panel: str
    seconds: int | None
    who: str
    reason: str
    overruled: bool
    taken_back: bool
    recorded_at: datetime
    at: datetime
    takes_back_of: datetime | None = None


@dataclass(frozen=True, slots=True)
class Change:
    """A band counted again or a panel given, as the log tells of it.

    `before` and `after` are the counts in words, or the names of those in whose hands it was and is; nobody is
    the shelf.
    """

    kind: str
    part: str
    section_id: int | None
    panel_id: int | None
    before: str
    after: str
    reason: str
    who: str
    recorded_at: datetime


def entries_of_garment(db: Reading, garment_id: int, before: int | None = None) -> tuple[list[Entry], bool]:
    """A garment's entries, the newest first, fifty at a time; and whether there are older ones."""
    asked = {"garment_id": garment_id} | ({} if before is None else {"before": before})
    rows = [_entry(row) for row in db.execute(_of_garment(is_later=before is not None), asked)]
    return rows[:PAGE], len(rows) > PAGE


def entries_between(db: Reading, garment_id: int, since: datetime, until: datetime) -> list[Entry]:
    """A garment's entries of work done from one moment until before another, in the order in which it was done."""
    found = _entries().where(col(Tally.garment_id) == garment_id, col(Tally.at) >= since, col(Tally.at) < until)
    return [_entry(row) for row in db.execute(found.order_by(None).order_by(col(Tally.at), col(Tally.id)))]


def changes_of_garment(db: Reading, garment_id: int, since: int | None, before: int | None) -> list[Change]:
    """A garment's recounts and givings from the entry `since` on and older than the entry `before`, newest first."""
    found = _changes_of_garment(has_since=since is not None, has_before=before is not None)
    asked = {"garment_id": garment_id, "since": since, "before": before}
    given = {name: value for name, value in asked.items() if value is not None}
    return [_change(row) for row in db.execute(found, given)]


def entries_of_step(db: Reading | Writing, step_id: int, limit: int = 10) -> list[Entry]:
    """The newest entries of one step."""
    return [_entry(row) for row in db.execute(_of_step(limit), {"step_id": step_id})]


def entry_with(db: Reading | Writing, tally_id: int) -> Entry | None:
    """One entry."""
    row = db.execute(_entries().where(col(Tally.id) == tally_id)).first()
    return None if row is None else _entry(row)


# What pages ask again and again is put together once: that takes longer than the answer.
@cache
def _of_garment(*, is_later: bool) -> Any:
    found = _entries().where(col(Tally.garment_id) == bindparam("garment_id"))
    if is_later:
        found = found.where(col(Tally.id) < bindparam("before"))
    return found.limit(PAGE + 1)


@cache
def _of_step(limit: int) -> Any:
    return _entries().where(col(Tally.step_id) == bindparam("step_id")).limit(limit)


@cache
def _changes_of_garment(*, has_since: bool, has_before: bool) -> Any:
    found = _changes().where(col(Event.garment_id) == bindparam("garment_id"))
    if has_since:
        found = found.where(col(Event.at) >= _moment_of("since"))
    if has_before:
        found = found.where(col(Event.at) < _moment_of("before"))
    return found.limit(MOST_CHANGES)


@cache
def _entries() -> Any:
    counter, countered = aliased(Tally), aliased(Tally)
    return (
        select(
            *(col(getattr(Tally, name)) for name in OF_TALLY),
            col(Step.operation),
            col(Step.unit),
            col(Section.name).label("section"),
            col(Panel.name).label("panel"),
            col(Stitcher.name).label("stitcher"),
            col(Account.name).label("account"),
            col(counter.id).label("counter_id"),
            col(countered.recorded_at).label("countered_at"),
        )
        .join(Step, col(Tally.step_id) == Step.id)
        .outerjoin(Section, col(Step.section_id) == Section.id)
        .outerjoin(Panel, col(Step.panel_id) == Panel.id)
        .outerjoin(Stitcher, col(Tally.stitcher_id) == Stitcher.id)
        .outerjoin(Account, col(Tally.account_id) == Account.id)
        .outerjoin(counter, col(counter.counters_id) == Tally.id)
        .outerjoin(countered, col(Tally.counters_id) == countered.id)
        .order_by(col(Tally.id).desc())
    )


def _entry(row: Any) -> Entry:
    return Entry(
        id=row.id,
        step_id=row.step_id,
        kind=row.kind,
        counted_tenths=row.counted_tenths,
        unit=row.unit,
        operation=row.operation,
        section=row.section or "",
        panel=row.panel or "",
        seconds=row.seconds,
        who=row.stitcher or row.account or "",
        reason=row.reason,
        overruled=row.overruled,
        taken_back=row.counter_id is not None,
        recorded_at=row.recorded_at,
        at=row.at,
        takes_back_of=row.countered_at,
    )


def _moment_of(named: str) -> Any:
    return select(col(Tally.recorded_at)).where(col(Tally.id) == bindparam(named)).scalar_subquery()


def _changes() -> Any:
    giver, taker, whole = aliased(Stitcher), aliased(Stitcher), col(Event.object_id)
    is_panel = col(Event.object_kind) == "panel"
    return (
        select(
            *(col(getattr(Event, name)) for name in OF_EVENT),
            col(Section.name).label("section"),
            col(Panel.name).label("panel"),
            col(giver.name).label("giver"),
            col(taker.name).label("taker"),
            col(Stitcher.name).label("stitcher"),
            col(Account.name).label("account"),
        )
        .outerjoin(Section, and_(col(Event.object_kind) == "section", whole == Section.id))
        .outerjoin(Panel, and_(is_panel, whole == Panel.id))
        .outerjoin(giver, and_(is_panel, cast(col(giver.id), String) == col(Event.before)))
        .outerjoin(taker, and_(is_panel, cast(col(taker.id), String) == col(Event.after)))
        .outerjoin(Account, col(Event.account_id) == Account.id)
        .outerjoin(Stitcher, col(Account.stitcher_id) == Stitcher.id)
        .where(col(Event.action).in_(CHANGES))
        .order_by(col(Event.id).desc())
    )


def _change(row: Any) -> Change:
    given = row.object_kind == "panel"
    return Change(
        kind=row.action,
        part=row.section or row.panel or "",
        section_id=None if given else row.object_id,
        panel_id=row.object_id if given else None,
        before=(row.giver or "") if given else row.before,
        after=(row.taker or "") if given else row.after,
        reason=row.reason,
        who=row.stitcher or row.account or "",
        recorded_at=row.at,
    )
