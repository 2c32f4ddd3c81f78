"""The hours of many stretches of work in every draw.

A line of n units takes n x exp(ln rate) seconds, times the noise of its blocks, plus a set-up for every block. The
ln rate is ONE number for all units of the line, so more units do not narrow the range; lines share the studio's, the
stitcher's and the garment's effects. Only the blocks' noise averages out.

Every stretch is worked out by itself from its own lines and draws, so that a question about one leaves the others'
hours as they were, bit for bit.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from service.reckoning.draws import Drawn, scores
from service.reckoning.hours import Planned, Stretch, planned
from service.reckoning.rates import FINENESS, Pace, Term, ln_guess, terms_of

Array = NDArray[np.float64]


def drawn_hours(drawn: Drawn, stretches: Sequence[Stretch]) -> Array:
    """Return the hours of every stretch in every draw (stretches, draws).

    The noise of a stretch's lines is taken together: one lognormal of the variance that they have.
    """
    plan = planned(drawn.fit, stretches)
    spreads = _noise_spreads(plan, stretches)
    setup_hours = drawn.fit.prior.setup_minutes / 60
    relative = np.sqrt(drawn.noise / drawn.fit.mean_noise)
    rates = _Rates(drawn)
    hours = np.empty((len(stretches), drawn.draws))
    start = 0
    for place, stretch in enumerate(stretches):
        end = start + len(stretch.lines)
        worked = _worked(rates, stretch, plan.factor[start:end])
        spread = relative * spreads[place]
        ln_factor = spread * (scores(("stretch", stretch.id), drawn.draws) - spread / 2)
        ln_factor += drawn.value(Term("garment", stretch.garment))
        hours[place] = worked * np.exp(ln_factor) + plan.blocks[start:end].sum() * setup_hours
        start = end
    return hours


def _worked(rates: "_Rates", stretch: Stretch, factors: Array) -> Array:
    """Return the hours of a stretch before its noise, its garment's effect and its set-ups."""
    worked = np.zeros(rates.drawn.draws)
    for line, factor in zip(stretch.lines, factors, strict=True):
        if factor:
            worked += rates.of(line.pace(stretch.stitcher)) * factor
    return worked


def _noise_spreads(plan: Planned, stretches: Sequence[Stretch]) -> Array:
    """Return for every stretch the sd of ln of its blocks' noise, its lines weighed by the time they take."""
    stretch = np.repeat(np.arange(len(stretches)), [len(each.lines) for each in stretches])
    squares = plan.seconds**2 * np.expm1(plan.average_variance)
    total = np.bincount(stretch, plan.seconds, minlength=len(stretches))
    square = np.bincount(stretch, squares, minlength=len(stretches))
    return np.asarray(np.sqrt(np.log1p(square / np.where(total, total, 1) ** 2)), dtype=np.float64)


class _Rates:
    """Draws of seconds a unit without any garment's own effect, each reckoned once.

    Kept as a rate at 20 threads per cm times what the fineness makes of it, because many paces share either.
    """

    def __init__(self, drawn: Drawn) -> None:
        self.drawn = drawn
        self._plain: dict[tuple[str, str], Array] = {}
        self._finer: dict[float, Array] = {}
        self._paces: dict[Pace, Array] = {}

    def of(self, pace: Pace) -> Array:
        if pace not in self._paces:
            terms = dict(terms_of(self.drawn.fit.prior, pace))
            fineness = terms.pop(FINENESS)
            self._paces[pace] = self._at_twenty(pace, tuple(terms)) * self._at(fineness)
        return self._paces[pace]

    def _at_twenty(self, pace: Pace, terms: tuple[Term, ...]) -> Array:
        key = (pace.stitcher, pace.operation)
        if key not in self._plain:
            ln_rate = np.full(self.drawn.draws, ln_guess(self.drawn.fit.prior, pace._replace(threads_per_cm=20.0)))
            for term in terms:
                ln_rate += self.drawn.value(term)
            self._plain[key] = np.exp(ln_rate)
        return self._plain[key]

    def _at(self, fineness: float) -> Array:
        if fineness not in self._finer:
            exponent = self.drawn.fit.prior.fineness_exponent + self.drawn.value(FINENESS)
            self._finer[fineness] = np.exp(exponent * fineness)
        return self._finer[fineness]
