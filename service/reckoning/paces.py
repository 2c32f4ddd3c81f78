"""What the fit expects of rates: means, variances and quantiles of ln seconds a unit, for whomever and whatever."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from service.reckoning.arrays import Array, floats
from service.reckoning.chances import student_quantiles
from service.reckoning.rates import Pace, Term, ln_guess, terms_of
from service.reckoning.rates_fit import GRID, Fit, spread_of


@dataclass(frozen=True, slots=True)
class Wanted:
    """A rate that is asked for: a pace, with the effect of a garment or (None) without any garment's own."""

    pace: Pace
    garment: str | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Expected:
    """ln seconds a unit of several rates at the nine grid points: centres (9, J), variances (9, J, J).

    Variances are in units of the noise's.
    """

    fit: Fit
    centres: Array
    variances: Array

    @property
    def mean(self) -> Array:
        """The expected ln seconds a unit (J)."""
        return self.fit.weights @ self.centres

    @property
    def covariance(self) -> Array:
        """The covariance of ln seconds a unit (J, J), the grid's spread included."""
        away = self.centres - self.mean
        at_each = self.fit.noise[:, None, None] * self.variances + away[:, :, None] * away[:, None, :]
        return floats(np.tensordot(self.fit.weights, at_each, 1))


@dataclass(frozen=True, slots=True)
class Range:
    """One in ten below `p10`, as many above `p90`, half below `p50`."""

    p10: float
    p50: float
    p90: float


def expected(fit: Fit, wanted: Sequence[Wanted]) -> Expected:
    """Return what the fit expects of these rates together; what nobody logged keeps its prior."""
    points = len(GRID)
    rows = np.zeros((points, len(wanted), len(fit.core)))
    centres = np.zeros((points, len(wanted)))
    apart: dict[Term, tuple[Array, Array]] = {}
    for place, each in enumerate(wanted):
        centres[:, place] = ln_guess(fit.prior, each.pace)
        for term, amount in terms_of(fit.prior, each.pace):
            if term in fit.core:
                rows[:, place, fit.core[term]] = amount
            else:
                _touch(apart, term, _unseen(fit, term), len(wanted))[place] = amount
        if each.garment is None:
            continue
        term = Term("garment", each.garment)
        if each.garment in fit.garments:
            column = fit.garments[each.garment]
            rows[:, place] -= fit.pull[:, :, column]
            centres[:, place] += fit.garment_mean[:, column] + (fit.pull[:, :, column] * fit.core_mean).sum(axis=1)
            _touch(apart, term, 1 / fit.garment_precision[:, column], len(wanted))[place] = 1.0
        else:
            _touch(apart, term, _unseen(fit, term), len(wanted))[place] = 1.0
    centres += (rows * fit.core_mean[:, None, :]).sum(axis=2)
    variances = rows @ fit.core_variance @ rows.transpose(0, 2, 1)
    for variance, amounts in apart.values():
        variances += variance[:, None, None] * np.outer(amounts, amounts)
    return Expected(fit, centres, variances)


def _touch(apart: dict[Term, tuple[Array, Array]], term: Term, variance: Array, many: int) -> Array:
    return apart.setdefault(term, (variance, np.zeros(many)))[1]


def _unseen(fit: Fit, term: Term) -> Array:
    return floats(spread_of(fit.prior, term.kind) ** 2 / fit.settled_noise)


def pace_quantiles(fit: Fit, paces: Sequence[Pace], shares: Sequence[float], chances: Sequence[float]) -> list[float]:
    """Return quantiles of seconds a unit, without any garment's own effect.

    Of several paces the one typical of all: `shares` add up to 1 and weigh their logarithms.
    """
    told = expected(fit, [Wanted(pace) for pace in paces])
    weigh = np.array(shares)
    scales = np.sqrt(fit.scale / fit.shape * ((told.variances @ weigh) @ weigh))
    quantiles = student_quantiles(fit.weights, told.centres @ weigh, scales, np.full(len(GRID), 2 * fit.shape), chances)
    return [math.exp(each) for each in quantiles]


def pace_range(fit: Fit, pace: Pace) -> Range:
    """Return the range of seconds a unit of one pace, without any garment's own effect."""
    return Range(*pace_quantiles(fit, [pace], [1.0], (0.1, 0.5, 0.9)))
