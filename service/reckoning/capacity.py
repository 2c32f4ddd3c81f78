"""A stitcher's days: the hours she has by the end of each, and the share of planned hours that she really works."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from service.reckoning.arrays import Array, floats
from service.reckoning.asked import Wrong, above_zero, not_below

Days = NDArray[np.intp]

HOURS_A_DAY = 24
LEAST_HOURS = 0.05
HORIZON_DAYS = 7305  # twenty years: nothing is foreseen beyond
DUST = 1e-9  # hours added up in another order differ by less than this

# guesses from memory, no source: of ten planned hours nine are worked, and weeks differ by a third
AVAILABLE = 0.9
AVAILABLE_LN_SD = 0.10
MOST_AVAILABLE = 100.0  # a hundred times what was planned, either way, is a slip
WEEK_LN_SD = 0.30
WEEK_SHAPE = 4.0
LEAST_SHARE = 0.1
ROUNDS = 10


@dataclass(frozen=True, slots=True)
class Availability:
    """Hours really worked over hours planned: its median, and the sd of its logarithm; Wrong where that is none."""

    median: float = AVAILABLE
    ln_sd: float = AVAILABLE_LN_SD

    def __post_init__(self) -> None:
        above_zero("median", self.median, MOST_AVAILABLE)
        not_below("ln_sd", self.ln_sd, 0, MOST_AVAILABLE)


@dataclass(frozen=True, slots=True)
class Week:
    """One week of a stitcher: hours planned, hours worked."""

    planned_hours: float
    worked_hours: float


@dataclass(frozen=True, slots=True)
class Stitcher:
    """Her hours on each weekday from Monday, the days she is away, and how far her plans hold.

    `other` are single days with other hours than their weekday's; a day away has none, whatever stands there.
    """

    name: str
    hours: tuple[float, ...]
    away: frozenset[date] = frozenset()
    availability: Availability = field(default_factory=Availability)
    other: tuple[tuple[date, float], ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Capacity:
    """Hours by the end of each day, counted from the start (day 0).

    `ended` counts, for every `step` hours, the working days that end before: no two end within one step, so that the
    day of any hour is found without a search.
    """

    by_day: Array
    working: Days  # the days with hours, and after them the horizon's end
    by_working: Array  # hours by the end of each of those; the last has no end
    step: float
    ended: Days

    def done_on(self, hours: Array) -> Days:
        """Return the first day by whose end so many hours are there; the horizon's length when there is none."""
        at = hours - DUST
        place = (at / self.step).astype(np.intp)
        np.minimum(place, len(self.ended) - 1, out=place)
        found = self.ended.take(place)
        found += self.by_working.take(found) < at
        return np.asarray(self.working.take(found), dtype=np.intp)

    def day_of(self, hours: float) -> int:
        """Return the same of one number of hours."""
        return int(self.working[self.by_working.searchsorted(hours - DUST)])

    def begun_on(self, hours: float) -> int:
        """Return the first day with work left after so many hours are spent."""
        return int(self.working[np.searchsorted(self.by_working, hours + DUST, "right")])

    def hours_by(self, day: Days) -> Array:
        """Return the hours by the end of each day."""
        return floats(self.by_day.take(np.minimum(day, HORIZON_DAYS - 1)))


def capacity(stitcher: Stitcher, start: date) -> Capacity:
    """Return a stitcher's capacity from the day `start` on, that day included."""
    other = (*stitcher.other, *((day, 0.0) for day in sorted(stitcher.away)))
    return _capacity(stitcher.hours, other, start)


@lru_cache(maxsize=16)  # a quarter of a megabyte each; how far plans hold, learned anew all day, makes no other
def _capacity(week: tuple[float, ...], other: tuple[tuple[date, float], ...], start: date) -> Capacity:
    hours = np.tile(np.roll(floats(week), -start.weekday()), HORIZON_DAYS // 7 + 1)[:HORIZON_DAYS]
    for day, instead in other:
        place = (day - start).days
        if 0 <= place < HORIZON_DAYS:
            hours[place] = instead
    by_day = np.cumsum(hours)
    working = np.flatnonzero(hours)
    by_working = by_day[working]
    step = float(hours[working].min(initial=HOURS_A_DAY))
    places = np.arange(int(by_day[-1] / step) + 2)
    ended = np.searchsorted(by_working, places * step)
    return Capacity(by_day, np.append(working, HORIZON_DAYS), np.append(by_working, math.inf), step, ended)


def check_stitcher(stitcher: Stitcher, where: str) -> None:
    """Raise Wrong, naming the field under `where`, when a stitcher's week cannot be right."""
    if not stitcher.name:
        raise Wrong(f"{where}.name", "needs a name")
    if len(stitcher.hours) != 7:
        raise Wrong(f"{where}.hours", f"needs seven numbers, Monday to Sunday, not {len(stitcher.hours)}")
    for place, hours in enumerate(stitcher.hours):
        _check_day(f"{where}.hours.{place}", hours)
    for place, (_, hours) in enumerate(stitcher.other):
        _check_day(f"{where}.other.{place}", hours)


def _check_day(where: str, hours: float) -> None:
    if not_below(where, hours, 0, HOURS_A_DAY) and hours < LEAST_HOURS:
        raise Wrong(where, "must be none at all, or three minutes at least")


def day_of(start: date, place: int) -> date:
    """Return the date of a day counted from the start.

    >>> day_of(date(2024, 2, 28), 2)
    datetime.date(2024, 3, 1)
    """
    return start + timedelta(place)


def availability_of(weeks: Sequence[Week]) -> Availability:
    """Return a stitcher's availability, learned from the weeks she logged; without any the guess.

    A normal-inverse-gamma on the logarithm of worked / planned, as for rates. A week of next to nothing counts as a
    tenth. Raises Wrong for a week without planned hours.

    >>> availability_of([])
    Availability(median=0.9, ln_sd=0.1)
    """
    told = []
    for place, week in enumerate(weeks):
        planned = above_zero(f"weeks.{place}.planned_hours", week.planned_hours)
        told.append(math.log(max(LEAST_SHARE, not_below(f"weeks.{place}.worked_hours", week.worked_hours) / planned)))
    if not told:
        return Availability()
    prior = math.log(AVAILABLE)
    noise = WEEK_LN_SD**2
    mean, told_precision = prior, 1.0
    for _ in range(ROUNDS):
        held = noise / AVAILABLE_LN_SD**2
        told_precision = held + len(told)
        mean = (held * prior + math.fsum(told)) / told_precision
        squares = math.fsum((each - mean) ** 2 for each in told) + held * (mean - prior) ** 2
        noise = (WEEK_LN_SD**2 * (WEEK_SHAPE - 1) + squares / 2) / (WEEK_SHAPE + len(told) / 2 - 1)
    return Availability(math.exp(mean), math.sqrt(noise / told_precision))
