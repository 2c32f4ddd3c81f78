"""The log as pages show it: the newest entries of a garment or of one step."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import aliased
from sqlmodel import col

from service.records.db import Reading, Writing
from service.records.tables import Account, Panel, Section, Step, Stitcher, Tally

PAGE = 50


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
    takes_back_of: datetime | None = None


def entries_of_garment(db: Reading, garment_id: int, before: int | None = None) -> tuple[list[Entry], bool]:
    """A garment's entries, the newest first, fifty at a time; and whether there are older ones."""
    found = _entries().where(col(Tally.garment_id) == garment_id)
    if before is not None:
        found = found.where(col(Tally.id) < before)
    rows = [_entry(row) for row in db.execute(found.limit(PAGE + 1))]
    return rows[:PAGE], len(rows) > PAGE


def entries_of_step(db: Reading | Writing, step_id: int, limit: int = 10) -> list[Entry]:
    """The newest entries of one step."""
    return [_entry(row) for row in db.execute(_entries().where(col(Tally.step_id) == step_id).limit(limit))]


def entry_with(db: Reading | Writing, tally_id: int) -> Entry | None:
    """One entry."""
    row = db.execute(_entries().where(col(Tally.id) == tally_id)).first()
    return None if row is None else _entry(row)


def _entries() -> Any:
    counter, countered = aliased(Tally), aliased(Tally)
    return (
        select(
            Tally,
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
    tally: Tally = row.Tally
    assert tally.id is not None
    return Entry(
        id=tally.id,
        step_id=tally.step_id,
        kind=tally.kind,
        counted_tenths=tally.counted_tenths,
        unit=row.unit,
        operation=row.operation,
        section=row.section or "",
        panel=row.panel or "",
        seconds=tally.seconds,
        who=row.stitcher or row.account or "",
        reason=tally.reason,
        overruled=tally.overruled,
        taken_back=row.counter_id is not None,
        recorded_at=tally.recorded_at,
        takes_back_of=row.countered_at,
    )
