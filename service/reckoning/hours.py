"""Hours left: what a line of work asks for, how it is likely to be worked, and the range of hours it may take.

Never shown as a mean: exp of a Student t has none.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from service.reckoning.arrays import Array, floats
from service.reckoning.asked import Wrong, above_zero, finite, not_below
from service.reckoning.operations import GUESS_THREADS_PER_CM
from service.reckoning.rates import (
    MOST_THREAD_LENGTH_MM,
    MOST_THREADS_PER_CM,
    MOST_UNITS,
    Pace,
    Prior,
    Term,
    guess_of,
    ln_guess,
    noise_of,
    terms_of,
    units_of,
)
from service.reckoning.rates_fit import Fit

BLOCK_MINUTES = 90
QUOTED_CHANCE = 2 / 3


@dataclass(frozen=True, slots=True)
class Line:
    """So many units of one operation still to do.

    `threads_per_cm` may be left out where the operation does not feel the fineness of the cloth.
    """

    operation: str
    quantity: float
    threads_per_cm: float | None = None
    thread_length_mm: float | None = None

    @property
    def units(self) -> float:
        """Units, threads to withdraw counted by their length."""
        return units_of(self.operation, self.quantity, self.thread_length_mm)

    def pace(self, stitcher: str) -> Pace:
        """Return whose rate at what it is when this stitcher does it."""
        return Pace(stitcher, self.operation, float(self.threads_per_cm or GUESS_THREADS_PER_CM))


class Stretch(NamedTuple):
    """Lines that one stitcher does on one garment without handing over; its id finds its noise again.

    "" is a stitcher whom nobody knows, or a garment not yet begun.
    """

    id: str
    lines: tuple[Line, ...]
    stitcher: str = ""
    garment: str = ""


@dataclass(frozen=True, slots=True)
class HoursRange:
    """Hours with the chances of 10, 50, 67 (two thirds), 80 and 90 in a hundred of not being exceeded."""

    p10: float
    p50: float
    p67: float
    p80: float
    p90: float


@dataclass(frozen=True, slots=True, eq=False)
class Planned:
    """How lines are likely to be worked: whose paces, blocks, variances of ln of one block and of their average.

    Every line has the `place` of its pace among the `paces`. `factor` turns draws of seconds
    a unit into hours; `seconds` are those expected.
    """

    paces: tuple[Pace, ...]
    place: NDArray[np.intp]
    blocks: Array
    block_variance: Array
    average_variance: Array
    factor: Array
    seconds: Array


class Means:
    """Expected ln seconds a unit."""

    def __init__(self, fit: Fit) -> None:
        self._fit = fit
        core, garments = fit.weights @ fit.core_mean, fit.weights @ fit.garment_mean
        self._terms: dict[Term, float] = {term: float(core[place]) for term, place in fit.core.items()}
        self._garments = {name: float(garments[place]) for name, place in fit.garments.items()}

    def of(self, pace: Pace) -> float:
        """Return the expected ln seconds a unit of a pace, without any garment's own effect."""
        terms = terms_of(self._fit.prior, pace)
        known = math.fsum(amount * self._terms.get(term, 0.0) for term, amount in terms)
        return ln_guess(self._fit.prior, pace) + known

    def on(self, garment: str) -> float:
        """Return the expected effect of a garment."""
        return self._garments.get(garment, 0.0)


def planned(fit: Fit, stretches: Sequence[Stretch]) -> Planned:
    """Return how the lines of all stretches in turn are likely to be worked.

    In blocks of about 90 minutes, each with its set-up and noise.
    """
    means = Means(fit)
    paces: dict[tuple[str, str, float | None], tuple[int, Pace, float]] = {}
    place: list[int] = []
    told: list[float] = []
    for each in stretches:
        effect = means.on(each.garment)
        for line in each.lines:
            key = each.stitcher, line.operation, line.threads_per_cm
            if key not in paces:
                pace = line.pace(each.stitcher)
                paces[key] = len(paces), pace, means.of(pace)
            number, _, mean = paces[key]
            place.append(number)
            told.append(mean + effect)
    units = np.array([line.units for each in stretches for line in each.lines])
    rate = np.exp(np.array(told))
    minutes = units * rate / 60
    blocks = np.maximum(1.0, minutes / BLOCK_MINUTES)
    variance = fit.mean_noise * noise_of(fit.prior, minutes / blocks)
    raised = np.exp(variance / 2)
    some = units > 0
    return Planned(
        tuple(pace for _, pace, _ in paces.values()),
        np.array(place, dtype=np.intp),
        blocks * some,
        variance * some,
        np.log1p(np.expm1(variance) / blocks) * some,
        units * raised / 3600,
        units * raised * rate,
    )


def check_line(line: Line, where: str, prior: Prior) -> None:
    """Raise Wrong, naming the field under `where`, when a line cannot be reckoned with."""
    guess = guess_of(prior, line.operation, f"{where}.operation")
    not_below(f"{where}.quantity", line.quantity, 0, MOST_UNITS)
    if line.threads_per_cm is not None:
        above_zero(f"{where}.threads_per_cm", line.threads_per_cm, MOST_THREADS_PER_CM)
    elif guess.exposure:
        raise Wrong(f"{where}.threads_per_cm", "is needed: a finer cloth takes longer")
    if line.thread_length_mm is not None:
        above_zero(f"{where}.thread_length_mm", line.thread_length_mm, MOST_THREAD_LENGTH_MM)


def hours_range(hours: Array) -> HoursRange:
    """Return the range of draws of hours."""
    chances = (0.1, 0.5, QUOTED_CHANCE, 0.8, 0.9)
    return HoursRange(*(float(each) for each in np.quantile(hours, chances)))


def share_near(hours: Array, chance: float) -> Array:
    """Share the quantile of a total out over its lines (lines, draws): each line's hours when the total lies near it.

    Quantiles of lines do not add up to the total's; these shares do (Euler's rule: Tasche 1999, from memory).
    `chance` is the total's, above 0 and below 1, else Wrong.

    >>> [round(float(each), 1) for each in share_near(np.array([[1.0, 2.0, 3.0], [2.0, 2.0, 2.0]]), 0.5)]
    [2.0, 2.0]
    """
    if not 0 < finite("chance", chance) < 1:
        raise Wrong("chance", f"must lie between 0 and 1, not {chance:g}")
    total = hours.sum(axis=0)
    aim = float(np.quantile(total, chance))
    near = np.argsort(np.abs(total - aim), kind="stable")[: max(1, len(total) // 10)]
    shares = hours[:, near].mean(axis=1)
    return floats(shares * (aim / shares.sum() if aim else 0.0))
