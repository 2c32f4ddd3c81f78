"""What is left of pieces in hours, as the studio's paces foresee it; the day on which that is done, and the chance.

One piece is looked at alone, at the studio's usual minutes a day: no other piece takes its turn.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from service.reckoning.asked import LARGEST, not_below, whole
from service.reckoning.draws import Drawn
from service.reckoning.forecast import drawn_hours
from service.reckoning.hours import Stretch
from service.reckoning.track_record import widened

MS_PER_MINUTE = 60_000
MS_PER_HOUR = 3_600_000
MINUTES_PER_HOUR = 60
LEAST_CHANCE, MOST_CHANCE = 0.01, 0.99
MOST_DAYS = 100_000
HUNDREDTHS = tuple(place / 100 for place in range(1, 100))


@dataclass(frozen=True, slots=True, eq=False)
class HoursLeft:
    """The hours that are not exceeded with a chance of 1, 2, … 99 in a hundred."""

    hundredths: NDArray[np.float64]

    @property
    def is_none(self) -> bool:
        """Whether nothing is left."""
        return not self.hundredths[-1]

    def at(self, percent: int) -> float:
        """Return the hours not exceeded with a chance of `percent` in a hundred, 1 to 99."""
        return float(self.hundredths[percent - 1])

    def chance_within(self, hours: float) -> float:
        """Return the chance that so many hours are enough, held from 0.01 to 0.99: nothing is certain."""
        chance = float(np.interp(hours, self.hundredths, HUNDREDTHS))
        return min(MOST_CHANCE, max(LEAST_CHANCE, chance))


NOTHING_LEFT = HoursLeft(np.zeros(len(HUNDREDTHS)))


@dataclass(frozen=True, slots=True)
class Outlook:
    """What is left of one piece, and when it may be done.

    `hours_p50` are not exceeded with a chance of one half, `hours_p80` with 80 %. `expected` is the day on which the
    likely hours are worked; `chance_in_time` from 0.01 to 0.99.
    """

    hours_p50: float
    hours_p80: float
    expected: date
    chance_in_time: float


def hours_left(drawn: Drawn, work: Mapping[int, Sequence[Stretch]], kappa: float = 1.0) -> dict[int, HoursLeft]:
    """Return the hours left of every piece, by its number; `kappa` is the widening that the studio's record asks for.

    The stretches of one piece share its draws; a piece without any has nothing left.
    """
    stretches = [stretch for piece in work.values() for stretch in piece]
    hours = drawn_hours(drawn, stretches)
    found: dict[int, HoursLeft] = {}
    start = 0
    for number, piece in work.items():
        end = start + len(piece)
        total = hours[start:end].sum(axis=0)
        found[number] = HoursLeft(np.quantile(widened(total, kappa), HUNDREDTHS)) if piece else NOTHING_LEFT
        start = end
    return found


def outlook(left: HoursLeft, ready_by: date, today: date, minutes_a_day: int) -> Outlook:
    """Return what the hours left mean for a piece worked on `minutes_a_day` from `today`.

    The day itself does not count as a day to work on: what is expected today has nothing left.

    >>> found = outlook(HoursLeft(np.linspace(5.1, 14.9, 99)), date(2027, 5, 16), date(2027, 5, 8), 90)
    >>> round(found.hours_p50, 1), found.expected, round(found.chance_in_time, 2)
    (10.0, datetime.date(2027, 5, 15), 0.7)
    """
    days = days_of(round(left.at(50) * MS_PER_HOUR), minutes_a_day)
    return Outlook(
        hours_p50=left.at(50),
        hours_p80=left.at(80),
        expected=today + timedelta(days=days),
        chance_in_time=_chance(left, (ready_by - today).days * minutes_a_day / MINUTES_PER_HOUR),
    )


def days_of(left_ms: int, minutes_a_day: int) -> int:
    """Return how many days so much work takes at so many minutes a day, a begun one counted whole.

    >>> days_of(270 * 60_000, 90), days_of(271 * 60_000, 90), days_of(0, 90)
    (3, 4, 0)
    """
    a_day_ms = whole("minutes_a_day", minutes_a_day, 1, 1440) * MS_PER_MINUTE
    return int(min(-(-not_below("left_ms", left_ms, at_most=LARGEST) // a_day_ms), MOST_DAYS))


def _chance(left: HoursLeft, open_hours: float) -> float:
    if open_hours < 0 or (open_hours == 0 and not left.is_none):
        return LEAST_CHANCE
    return MOST_CHANCE if left.is_none else left.chance_within(open_hours)
