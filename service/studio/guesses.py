"""The studio's guesses of how long one unit of each operation takes: the starting ones, and those the owner set."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from functools import cache
from pathlib import Path
from zoneinfo import ZoneInfo

from sqlmodel import col, select

from service.reckoning.guess_text import read_guesses
from service.reckoning.guesses import Guesses
from service.reckoning.operations import OPERATIONS
from service.reckoning.rates import Guess, Prior
from service.records.db import Reading, Writing
from service.records.tables import Event, Garment, RateGuess, Step, Studio
from service.studio.standing import resummarise

STARTING = Path(__file__).resolve().parents[2] / "seed_data" / "guesses" / "starting.toml"
CHANGED = "guessed otherwise"
MS_PER_SECOND = 1000


@cache
def starting_guesses() -> Guesses:
    """The guesses that every studio starts from, as their file says."""
    return read_guesses(STARTING.read_text(encoding="utf-8"))


def own_guesses(db: Reading | Writing, before: date | None = None) -> dict[str, int]:
    """The guesses that the owner set, in milliseconds a unit, as they stand now or stood at the end of the day before.

    An operation gone back to its starting guess is not among them.
    """
    rows = select(RateGuess).order_by(col(RateGuess.id))
    if before is not None:
        zone = ZoneInfo(db.exec(select(Studio.time_zone)).one())
        rows = rows.where(col(RateGuess.at) < datetime.combine(before, time(), zone).astimezone(UTC))
    newest = {row.operation: row.unit_ms for row in db.exec(rows)}
    return {name: unit_ms for name, unit_ms in newest.items() if unit_ms is not None and name in OPERATIONS}


def guesses_of(db: Reading | Writing, before: date | None = None) -> Guesses:
    """The seconds of a unit of every operation as the studio guesses them."""
    own = {name: unit_ms / MS_PER_SECOND for name, unit_ms in own_guesses(db, before).items()}
    return {**starting_guesses(), **own}


def prior_of(guesses: Guesses) -> Prior:
    """What is believed before any log, with these guesses."""
    return Prior({name: Guess(seconds, OPERATIONS[name].exposure) for name, seconds in guesses.items()})


@dataclass(frozen=True, slots=True)
class Changed:
    """One guess set otherwise: milliseconds a unit before and now; `stated` None is the starting guess again."""

    operation: str
    before_ms: int
    stated_ms: int | None

    @property
    def now_ms(self) -> int:
        """What counts now."""
        return starting_ms(self.operation) if self.stated_ms is None else self.stated_ms


def starting_ms(operation: str) -> int:
    """The starting guess in whole milliseconds."""
    return round(starting_guesses()[operation] * MS_PER_SECOND)


def set_guesses(db: Writing, said: Mapping[str, int | None], account_id: int, at: datetime) -> tuple[Changed, ...]:
    """Set guesses, in milliseconds a unit (None: the starting guess again); what stays as it was is passed over.

    The steps of open garments are timed afresh; those of finished ones stay as they were planned.
    """
    own = own_guesses(db)
    changes = tuple(
        Changed(name, own.get(name, starting_ms(name)), stated)
        for name, stated in said.items()
        if own.get(name) != stated and (name in own or stated != starting_ms(name))
    )
    for change in changes:
        row = RateGuess(operation=change.operation, unit_ms=change.stated_ms, account_id=account_id, at=at)
        db.add(row)
        db.flush()
        _keep(db, row, change)
    _time_afresh(db, [change for change in changes if change.now_ms != change.before_ms])
    return changes


def _keep(db: Writing, row: RateGuess, change: Changed) -> None:
    assert row.id is not None
    db.add(
        Event(
            at=row.at,
            account_id=row.account_id,
            action=CHANGED,
            object_kind="rate_guess",
            object_id=row.id,
            before=f"{change.operation} {change.before_ms / MS_PER_SECOND:g} s",
            after=f"{change.operation} {change.now_ms / MS_PER_SECOND:g} s",
        )
    )


def _time_afresh(db: Writing, changes: Iterable[Changed]) -> None:
    """Time the steps of open garments by the new guesses: what their cloth made of the old one stays its share."""
    by_name = {change.operation: change for change in changes}
    if not by_name:
        return
    is_open = col(Garment.state).in_(("planned", "in work"))
    held = db.exec(select(Garment.id).where(is_open).order_by(col(Garment.id)).with_for_update()).all()
    steps = select(Step).where(col(Step.garment_id).in_(held), col(Step.operation).in_(list(by_name)))
    touched = set()
    for step in db.exec(steps):
        change = by_name[step.operation]
        step.unit_ms = (step.unit_ms * change.now_ms + change.before_ms // 2) // change.before_ms
        db.add(step)
        touched.add(step.garment_id)
    for garment_id in sorted(touched):
        resummarise(db, garment_id)
