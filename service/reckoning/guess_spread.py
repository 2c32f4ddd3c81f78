"""What a guess of the time left is worth while nobody's log says better: its spread, the day, the chance.

The guess is the median; the logarithm of the true time has an sd of 0.56 for an unknown stitcher on a new piece
(the root of the sum of squares of 0.30 for all guesses together, 0.35 for the one operation, 0.25 for the stitcher's
pace, 0.15 for hers at that operation, 0.12 for the piece; all from memory, no source). One
piece is looked at alone, at the studio's usual minutes a day: no other piece takes its turn.
"""

import math
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import NormalDist

from service.reckoning.asked import LARGEST, not_below, whole

LN_SD = 0.56
MS_PER_MINUTE = 60_000
MS_PER_HOUR = 3_600_000
LEAST_CHANCE, MOST_CHANCE = 0.01, 0.99
MOST_DAYS = 100_000
_Z80 = NormalDist().inv_cdf(0.8)


@dataclass(frozen=True, slots=True)
class Outlook:
    """What is left of one piece, and when it may be done.

    `hours_p50` are not exceeded with a chance of one half, `hours_p80` with 80 %. `expected` is the day on which
    the guess runs out; `chance_in_time` from 0.01 to 0.99, because a guess is never certain.
    """

    hours_p50: float
    hours_p80: float
    expected: date
    chance_in_time: float


def outlook(left_ms: int, ready_by: date, today: date, minutes_a_day: int) -> Outlook:
    """Return what `left_ms` of guessed work means for a piece worked on `minutes_a_day` from `today`.

    The day itself does not count as a day to work on: what is expected today has nothing left.

    >>> found = outlook(10 * 3_600_000, date(2027, 5, 16), date(2027, 5, 8), 90)
    >>> found.hours_p50, round(found.hours_p80, 2), found.expected, round(found.chance_in_time, 3)
    (10.0, 16.02, datetime.date(2027, 5, 15), 0.628)
    """
    days = days_of(left_ms, minutes_a_day)
    hours = left_ms / MS_PER_HOUR
    return Outlook(
        hours_p50=hours,
        hours_p80=hours * math.exp(_Z80 * LN_SD),
        expected=today + timedelta(days=days),
        chance_in_time=_chance(left_ms, (ready_by - today).days * minutes_a_day * MS_PER_MINUTE),
    )


def days_of(left_ms: int, minutes_a_day: int) -> int:
    """Return how many days so much work takes at so many minutes a day, a begun one counted whole.

    >>> days_of(270 * 60_000, 90), days_of(271 * 60_000, 90), days_of(0, 90)
    (3, 4, 0)
    """
    a_day_ms = whole("minutes_a_day", minutes_a_day, 1, 1440) * MS_PER_MINUTE
    return int(min(-(-not_below("left_ms", left_ms, at_most=LARGEST) // a_day_ms), MOST_DAYS))


def _chance(left_ms: int, open_ms: int) -> float:
    if open_ms < 0:
        return LEAST_CHANCE
    if left_ms == 0:
        return MOST_CHANCE
    if open_ms == 0:
        return LEAST_CHANCE
    chance = NormalDist().cdf(math.log(open_ms / left_ms) / LN_SD)
    return min(max(chance, LEAST_CHANCE), MOST_CHANCE)
