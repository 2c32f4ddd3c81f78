"""A count that looks like a slip of the pen: asked about once, before it is kept."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from sqlmodel import select

from service.reckoning.operations import GUESS_THREADS_PER_CM
from service.reckoning.rates import MINUTES_IN_A_DAY, LoggedWork
from service.reckoning.slips import Slip, fastest_seconds, slip_in
from service.records.db import Reading, Writing
from service.records.queries.rates import step_felt
from service.records.tables import Studio
from service.studio.rates import Learned, fineness_of, thread_length_of, whose
from service.studio.sign_in import Person


@dataclass(frozen=True, slots=True)
class Counted:
    """So much counted on a step in so many minutes."""

    step_id: int
    amount: Decimal
    minutes: Decimal


def slip_at(db: Reading | Writing, learned: Learned, person: Person, counted: Counted, at: datetime) -> Slip | None:
    """What to ask about a count, or None when it is as good as any by what the log has taught."""
    if not counted.minutes or not counted.amount:
        return None
    found = slip_in(learned.fit, _entry(db, person, counted, at))
    if counted.minutes <= MINUTES_IN_A_DAY:
        return found
    return Slip(found.surprise if found else 0.0, float(counted.minutes), None)


def fastest_ms(db: Reading | Writing, learned: Learned, person: Person, step_id: int, at: datetime) -> float:
    """Milliseconds of one unit of a step that are too few for this person, by what the log has taught."""
    one = Counted(step_id, Decimal(1), Decimal(1))
    return 1000 * fastest_seconds(learned.fit, _entry(db, person, one, at))


def _entry(db: Reading | Writing, person: Person, counted: Counted, at: datetime) -> LoggedWork:
    row = step_felt(db, counted.step_id)
    return LoggedWork(
        day=at.astimezone(ZoneInfo(db.exec(select(Studio.time_zone)).one())).date(),
        stitcher=whose(person.stitcher_id, person.id),
        operation=row.operation,
        threads_per_cm=fineness_of(row) or GUESS_THREADS_PER_CM,
        garment=str(row.garment_id),
        units=float(counted.amount),
        minutes=min(float(counted.minutes), MINUTES_IN_A_DAY),
        thread_length_mm=thread_length_of(row),
    )
