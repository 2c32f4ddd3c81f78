"""The hours of many stretches of work in every draw.

A line of n units takes n x exp(ln rate) seconds, times the noise of its blocks, plus a set-up for every block. The
ln rate is ONE number for all units of the line, so more units do not narrow the range; lines share the studio's, the
stitcher's and the garment's effects. Only the blocks' noise averages out.

Every stretch is worked out by itself from its own lines and draws, so that a question about one leaves the others'
hours as they were, bit for bit.
"""

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from service.reckoning.arrays import Array, floats
from service.reckoning.draws import Drawn, scores, single_scores
from service.reckoning.hours import Planned, Stretch, planned
from service.reckoning.operations import GUESS_THREADS_PER_CM
from service.reckoning.rates import FINENESS, Pace, Term, ln_guess, terms_of

Precision = type[np.float32] | type[np.float64]
Scores = Callable[[Sequence[str], int], NDArray[np.floating]]


def drawn_hours(drawn: Drawn, stretches: Sequence[Stretch]) -> Array:
    """Return the hours of every stretch in every draw (stretches, draws).

    The noise of a stretch's lines is taken together: one lognormal of the variance that they have.
    """
    # single precision, good to a second in a year of work, because it is more than twice as quick
    try:
        with np.errstate(over="raise"):
            return _drawn_hours(drawn, stretches, np.float32)
    except FloatingPointError:  # paces out of a log of absurd minutes
        return _drawn_hours(drawn, stretches, np.float64)


def _drawn_hours(drawn: Drawn, stretches: Sequence[Stretch], precision: Precision) -> Array:
    plan = planned(drawn.fit, stretches)
    rates = _rates(drawn, plan.paces, precision)
    spreads = _noise_spreads(plan, stretches).astype(precision)
    setup_hours = drawn.fit.prior.setup_minutes / 60
    relative = np.sqrt(drawn.noise / drawn.fit.mean_noise).astype(precision)
    factor: NDArray[np.floating] = plan.factor.astype(precision)
    garments: dict[str, NDArray[np.floating]] = {
        name: drawn.value(Term("garment", name)).astype(precision) for name in {one.garment for one in stretches}
    }
    hours = np.empty((len(stretches), drawn.draws))
    normal: Scores = scores if precision is np.float64 else single_scores
    spread: NDArray[np.floating] = np.empty(drawn.draws, dtype=precision)
    raised: NDArray[np.floating] = np.empty(drawn.draws, dtype=precision)
    start = 0
    for number, stretch in enumerate(stretches):
        lines = slice(start, start + len(stretch.lines))
        start = lines.stop
        np.multiply(relative, spreads[number], out=spread)
        np.multiply(spread, precision(-0.5), out=raised)
        raised += normal(("stretch", stretch.id), drawn.draws)
        raised *= spread
        raised += garments[stretch.garment]
        np.exp(raised, out=raised)
        raised *= factor[lines] @ rates.take(plan.place[lines], axis=0)
        np.add(raised, plan.blocks[lines].sum() * setup_hours, out=hours[number])
    return hours


def _noise_spreads(plan: Planned, stretches: Sequence[Stretch]) -> Array:
    """Return for every stretch the sd of ln of its blocks' noise, its lines weighed by the time they take."""
    stretch = np.repeat(np.arange(len(stretches)), [len(each.lines) for each in stretches])
    squares = plan.seconds**2 * np.expm1(plan.average_variance)
    total = np.bincount(stretch, plan.seconds, minlength=len(stretches))
    square = np.bincount(stretch, squares, minlength=len(stretches))
    return floats(np.sqrt(np.log1p(square / np.where(total, total, 1) ** 2)))


def _rates(drawn: Drawn, paces: Sequence[Pace], precision: Precision) -> NDArray[np.floating]:
    """Return draws of seconds a unit (paces, draws), without any garment's own effect.

    Made of a rate at 20 threads per cm and what the fineness makes of it, because many paces share either.
    """
    plain: dict[Pace, Array] = {}
    finer: dict[float, Array] = {}
    rates: NDArray[np.floating] = np.empty((len(paces), drawn.draws), dtype=precision)
    for row, pace in zip(rates, paces, strict=True):
        terms = dict(terms_of(drawn.fit.prior, pace))
        fineness = terms.pop(FINENESS)
        at_twenty = pace._replace(threads_per_cm=GUESS_THREADS_PER_CM)
        if at_twenty not in plain:
            ln_rate = ln_guess(drawn.fit.prior, at_twenty) + sum(drawn.value(term) for term in terms)
            plain[at_twenty] = np.exp(ln_rate)
        if fineness not in finer:
            finer[fineness] = np.exp(fineness * (drawn.fit.prior.fineness_exponent + drawn.value(FINENESS)))
        np.multiply(plain[at_twenty], finer[fineness], out=row)
    return rates
