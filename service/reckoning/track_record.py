"""The studio's own record: how often its ranges held, and how much wider they should be."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from service.reckoning.arrays import Array, floats
from service.reckoning.asked import above_zero

PRIOR_PIECES = 10  # the record starts as if ten pieces had come out as foreseen: a guess from memory
MOST_SURPRISE = 4.0
LIKELY_Z = 1.2815515655446004  # nine in ten lie below: the 80 % range reaches as far on both sides


@dataclass(frozen=True, slots=True)
class Finished:
    """A finished garment: hours it took, and the range foreseen when it was quoted."""

    actual_hours: float
    median_hours: float
    p10_hours: float
    p90_hours: float


@dataclass(frozen=True, slots=True)
class Record:
    """Of so many garments so many fell inside the 80 % range; `kappa` is the widening that follows, 1 for none."""

    garments: int
    inside: int
    kappa: float


def surprise(finished: Finished) -> float:
    """Return how many standard deviations of ln the actual hours lay above the median.

    >>> round(surprise(Finished(20, 10, 5, 20)), 3)
    1.282
    """
    for name in ("actual_hours", "median_hours", "p10_hours", "p90_hours"):
        above_zero(name, getattr(finished, name))
    spread = math.log(finished.p90_hours / finished.p10_hours) / (2 * LIKELY_Z)
    return math.log(finished.actual_hours / finished.median_hours) / above_zero("p90_hours", spread)


def kappa(surprises: Sequence[float]) -> float:
    """Return the factor by which ranges are widened on the scale of ln: 1 while they hold, more when they did not.

    >>> round(kappa([1.2, -0.4, 2.5, 1.9, -1.6, 0.3]), 6)
    1.227548
    """
    clipped = [max(-MOST_SURPRISE, min(MOST_SURPRISE, each)) for each in surprises]
    squares = math.fsum(each**2 for each in clipped)
    return math.sqrt(max(1.0, (PRIOR_PIECES + squares) / (PRIOR_PIECES + len(clipped))))


def record(finished: Sequence[Finished]) -> Record:
    """Return the studio's record over these finished garments."""
    inside = sum(each.p10_hours <= each.actual_hours <= each.p90_hours for each in finished)
    return Record(len(finished), inside, kappa([surprise(each) for each in finished]))


def widened(hours: Array, factor: float) -> Array:
    """Return draws of hours (..., draws) spread `factor` times as far from their median on the scale of ln.

    >>> widened(np.array([5.0, 10.0, 20.0]), 2).tolist()
    [2.5, 10.0, 40.0]
    """
    if above_zero("factor", factor) == 1:
        return hours
    middle = np.median(hours, axis=-1, keepdims=True)
    some = np.where(middle > 0, middle, 1.0)
    return floats(np.where(middle > 0, some * (hours / some) ** factor, hours))
