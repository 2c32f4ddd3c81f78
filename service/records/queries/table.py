"""What the page at the table reads of the log: one's own entries that may still be taken back, and the step in hand."""

from dataclasses import dataclass

from sqlmodel import col, select

from service.records.db import Reading, Writing
from service.records.tables import Garment, Step, Tally

MOST_TAKEN_BACK = 10


@dataclass(frozen=True, slots=True)
class OwnEntry:
    """One of one's own counts that nobody has taken back."""

    id: int
    key: str
    counted_tenths: int


def own_entries(db: Reading | Writing, step_id: int, account_id: int) -> list[OwnEntry]:
    """The newest of one's own counts on a step that are not taken back, at most ten, the newest first."""
    countered = select(Tally.counters_id).where(Tally.step_id == step_id, col(Tally.counters_id).is_not(None))
    rows = db.exec(
        select(Tally.id, Tally.key, Tally.counted_tenths)
        .where(Tally.step_id == step_id, Tally.account_id == account_id, Tally.kind == "work")
        .where(col(Tally.id).not_in(countered))
        .order_by(col(Tally.id).desc())
        .limit(MOST_TAKEN_BACK)
    )
    return [OwnEntry(number, key, counted) for number, key, counted in rows if number is not None]


def recent_keys(db: Reading | Writing, step_id: int, account_id: int, limit: int = 200) -> list[str]:
    """The keys of one's newest entries on a step, so that a device can tell which of its counts have come in."""
    newest = select(Tally.key).where(Tally.step_id == step_id, Tally.account_id == account_id)
    return list(db.exec(newest.order_by(col(Tally.id).desc()).limit(limit)))


def step_in_hand(db: Reading | Writing, account_id: int) -> int | None:
    """The step that this person counted on last, while it is not done and its garment is being made."""
    last = (
        select(Tally.step_id)
        .where(Tally.account_id == account_id, Tally.kind == "work")
        .order_by(col(Tally.id).desc())
        .limit(1)
    ).scalar_subquery()
    found = (
        select(Step.id)
        .join(Garment, col(Step.garment_id) == Garment.id)
        .where(Step.id == last, Step.done_tenths < Step.quantity_tenths, Garment.state == "in work")
    )
    return db.exec(found).first()
