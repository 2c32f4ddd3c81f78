"""A trial: which work, tried for ten minutes on a scrap of its cloth, would narrow the range of hours most.

What one more block of work would tell is known before it is worked: at given spreads its variance falls by the
same amount however the trial turns out (conditioning of a normal, Raiffa & Schlaifer 1961, from memory), and the
expected hours stay what they are. So nothing is drawn, and the same question has the same answer. A scrap is not the
garment: what makes this garment harder or easier than its counts say is not learned from it, and counts as noise.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from service.reckoning.arrays import Array, floats
from service.reckoning.asked import above_zero
from service.reckoning.hours import Stretch, planned
from service.reckoning.operations import OPERATIONS
from service.reckoning.paces import Wanted, expected
from service.reckoning.rates import Pace, noise_of
from service.reckoning.rates_fit import Fit

TRIAL_MINUTES = 10.0
CAN_BE_TRIED = ("cm", "thread", "knot", "join", "end")
SCRAP = "a scrap of the same cloth"


@dataclass(frozen=True, slots=True)
class Trial:
    """One trial: whose work it is, and the share of the spread of ln hours that it would leave, below 1.

    `threads_per_cm` is None where the operation does not feel the cloth.
    """

    pace: Pace
    left: float

    @property
    def threads_per_cm(self) -> float | None:
        """The count of the cloth to try it on."""
        return self.pace.threads_per_cm if OPERATIONS[self.pace.operation].exposure else None

    def narrowed(self, middle: float, end: float) -> float:
        """Return where one end of a range around `middle` is expected to come to lie.

        >>> trial = Trial(Pace("", "ladder_knot", 20.0), 0.5)
        >>> trial.narrowed(20, 5), trial.narrowed(20, 80)
        (10.0, 40.0)
        """
        return above_zero("middle", middle) * math.pow(above_zero("end", end) / middle, self.left)


def trials(fit: Fit, stretches: Sequence[Stretch], minutes: float = TRIAL_MINUTES) -> tuple[Trial, ...]:
    """Return every trial of the work in these stretches, the one that narrows their hours most first.

    `minutes` are net of setting up. What is done panel by panel, and what takes longer than a trial for one piece of
    it, is not tried. None where nothing that can be tried is left. The order of the lines does not matter.
    """
    above_zero("minutes", minutes)
    lines = [(line, each) for each in stretches for line in each.lines]
    paces = sorted({line.pace(each.stitcher) for line, each in lines if line.units and _can_be_tried(line.operation)})
    if not paces:
        return ()
    wanted = [Wanted(line.pace(each.stitcher), each.garment) for line, each in lines]
    told = expected(fit, [*wanted, *(Wanted(pace, SCRAP) for pace in paces)])
    plan = planned(fit, stretches)
    among = _Told(fit, told.centres[:, : len(lines)], told.variances, plan.average_variance)
    hours = among.expected_hours(np.array([line.units for line, _ in lines]), plan.block_variance)
    before = among.spread(hours, None, 0.0)
    noise = float(noise_of(fit.prior, np.array([minutes]))[0])
    found = [Trial(pace, among.spread(hours, len(lines) + place, noise) / before) for place, pace in enumerate(paces)]
    return tuple(sorted(found, key=lambda trial: (round(trial.left, 9), trial.pace)))


def _can_be_tried(operation: str) -> bool:
    return OPERATIONS[operation].unit in CAN_BE_TRIED


@dataclass(frozen=True, slots=True, eq=False)
class _Told:
    """What the fit expects of the lines at the nine grid points, their covariances with the trials after them."""

    fit: Fit
    centres: Array
    variances: Array
    block_noise: Array

    def expected_hours(self, units: Array, block_variance: Array) -> Array:
        """Return the expected hours of each line, without its setting up."""
        covariance = self._covariance(self.variances[:, : len(units), : len(units)])
        ln_factor = (block_variance - self.block_noise) / 2
        mean = self.fit.weights @ self.centres
        spread = np.diag(covariance) + self.block_noise
        return floats(units / 3600 * np.exp(mean + ln_factor + spread / 2))

    def spread(self, hours: Array, trial: int | None, noise: float) -> float:
        """Return the sd of ln of the total hours, after a trial if one is named."""
        many = len(hours)
        left = self.variances[:, :many, :many]
        if trial is not None:
            shared = self.variances[:, :many, trial]
            told = self.variances[:, trial, trial] + noise
            left = left - shared[:, :, None] * shared[:, None, :] / told[:, None, None]
        noisy = self._covariance(left) + np.diag(self.block_noise)
        relative = float((np.outer(hours, hours) * np.expm1(noisy)).sum()) / float(hours.sum()) ** 2
        return math.sqrt(math.log1p(relative))

    def _covariance(self, variances: Array) -> Array:
        """Return the covariance of ln seconds a unit over the grid, the grid's own spread included."""
        away = self.centres - self.fit.weights @ self.centres
        at_each = self.fit.noise[:, None, None] * variances + away[:, :, None] * away[:, None, :]
        return floats(np.tensordot(self.fit.weights, at_each, 1))
