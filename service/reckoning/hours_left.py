"""What is left of pieces in hours, as the studio's paces foresee it, and how many usual days that is."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.reckoning.asked import LARGEST, not_below, whole
from service.reckoning.draws import Drawn
from service.reckoning.forecast import drawn_hours
from service.reckoning.hours import Stretch
from service.reckoning.track_record import widened

MS_PER_MINUTE = 60_000
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


NOTHING_LEFT = HoursLeft(np.zeros(len(HUNDREDTHS)))


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


def days_of(left_ms: int, minutes_a_day: int) -> int:
    """Return how many days so much work takes at so many minutes a day, a begun one counted whole.

    >>> days_of(270 * 60_000, 90), days_of(271 * 60_000, 90), days_of(0, 90)
    (3, 4, 0)
    """
    a_day_ms = whole("minutes_a_day", minutes_a_day, 1, 1440) * MS_PER_MINUTE
    return int(min(-(-not_below("left_ms", left_ms, at_most=LARGEST) // a_day_ms), MOST_DAYS))
