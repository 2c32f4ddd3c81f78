"""Hours without draws: the sum of correlated lognormals taken as one lognormal of the same mean and variance.

Fenton (1960), for correlated terms Abu-Dayya & Beaulieu (1994); both from memory. Against the draws it is a few per
cent too wide while the log is short. It answers at once, so it serves where thousands of questions are compared.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from service.reckoning.hours import Stretch, planned
from service.reckoning.paces import Wanted, expected
from service.reckoning.rates_fit import Fit

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class ClosedForm:
    """The hours of some stretches together, and line by line.

    `setup_hours` are certain; the rest is lognormal with the mean of its logarithm `ln_mean` and the sd `ln_sd`.
    """

    setup_hours: float
    ln_mean: float
    ln_sd: float
    line_seconds: Array  # the expected pace of each line
    line_ln_sd: Array  # of that pace
    line_hours: Array  # expected, without set-ups
    line_hours_sd: Array

    def hours(self, chance: float) -> float:
        """Return the hours that are not exceeded with this chance.

        >>> ClosedForm(1.0, 0.0, 0.5, *[np.ones(1)] * 4).hours(0.5)
        2.0
        """
        if math.isinf(self.ln_mean):
            return self.setup_hours
        return self.setup_hours + math.exp(self.ln_mean + self.ln_sd * NormalDist().inv_cdf(chance))


def closed_form(fit: Fit, stretches: Sequence[Stretch]) -> ClosedForm:
    """Return the hours of all stretches together, in closed form."""
    wanted = [Wanted(line.pace(each.stitcher), each.garment) for each in stretches for line in each.lines]
    units = np.array([line.units for each in stretches for line in each.lines])
    plan = planned(fit, stretches)
    told = expected(fit, wanted)
    covariance = told.covariance
    noisy = covariance + np.diag(plan.average_variance)
    ln_factor = (plan.block_variance - plan.average_variance) / 2
    hours = units / 3600 * np.exp(told.mean + ln_factor + np.diag(noisy) / 2)
    spread = np.outer(hours, hours) * np.expm1(noisy)
    total = float(hours.sum())
    ln_variance = math.log1p(float(spread.sum()) / total**2) if total else 0.0
    return ClosedForm(
        float(plan.blocks.sum()) * fit.prior.setup_minutes / 60,
        math.log(total) - ln_variance / 2 if total else -math.inf,
        math.sqrt(ln_variance),
        np.exp(told.mean),
        np.sqrt(np.diag(covariance)),
        hours,
        np.sqrt(np.diag(spread)),
    )
