"""The fit: what the log says of every term, in closed form over a small grid of spreads.

Normal-inverse-gamma regression (Raiffa & Schlaifer 1961; Lindley & Smith 1972): terms are held to their prior means by
their spreads, so that a stitcher with little history borrows from all others (partial pooling: Robinson 1991).
The spreads of stitchers and garments are not known either: nine combinations are fitted and mixed by their evidence.
Blocks far off what the rest of the log says are weighted down (Huber 1964). Sources from memory, not looked up.

A garment's effect touches only its own blocks, so garments are eliminated from the equations (Schur complement) and
the work grows with the cube of operations and stitchers, not of garments.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.reckoning.arrays import Array, floats
from service.reckoning.rates import (
    FINENESS,
    STUDIO,
    TERMS_OF_A_PACE,
    DayBlock,
    Kind,
    LoggedWork,
    Prior,
    Term,
    day_blocks,
    ln_guess,
    noise_of,
    terms_of,
)

Grid = tuple[tuple[float, float], ...]

GRID: Grid = tuple((stitchers, garments) for stitchers in (0.5, 1.0, 2.0) for garments in (0.5, 1.0, 2.0))
GRID_WEIGHTS = tuple(a * b for a in (0.25, 0.5, 0.25) for b in (0.25, 0.5, 0.25))
MIDDLE: Grid = ((1.0, 1.0),)
MOST_ROUNDS = 10
SETTLED = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """What is known after the log. Arrays have the nine grid points first; variances are in units of the noise's.

    A term's value is a deviation from its prior mean. With c the core terms (all but garments), given c a garment's
    effect has mean `garment_mean - (pull @ (c - core_mean))` and variance noise / `garment_precision`.
    """

    prior: Prior
    blocks: tuple[DayBlock, ...]
    block_weights: Array  # (blocks,): 1 as good as any, near 0 a slip of the pen
    core: Mapping[Term, int]
    garments: Mapping[str, int]
    weights: Array  # (9,) of the grid points
    settled_noise: float  # variance of ln of a 60-minute block, at the stated spreads
    noise: Array  # (9,) the same at every grid point
    shape: float  # of its inverse gamma
    scale: Array  # (9,)
    core_mean: Array  # (9, K)
    core_variance: Array  # (9, K, K)
    garment_mean: Array  # (9, P)
    garment_precision: Array  # (9, P)
    pull: Array  # (9, K, P)

    @property
    def mean_noise(self) -> float:
        """The expected variance of ln of a 60-minute block."""
        return float(self.weights @ self.noise)


@dataclass(frozen=True, slots=True, eq=False)
class _Sheet:
    """The blocks as arrays: rows of distinct paces, and for every block its row, garment, ln deviation, precision.

    A row has few terms: `places` says which, `amounts` how much of each.
    """

    core: dict[Term, int]
    garments: dict[str, int]
    rows: Array  # (R, K)
    places: NDArray[np.intp]  # (R, terms of a pace)
    amounts: Array  # the same
    row: NDArray[np.intp]
    garment: NDArray[np.intp]
    deviation: Array
    precision: Array


@dataclass(frozen=True, slots=True, eq=False)
class _Solved:
    """The answer at the points of a grid (first axis)."""

    core_mean: Array
    core_variance: Array
    garment_mean: Array
    garment_precision: Array
    pull: Array
    shape: float
    scale: Array
    ln_evidence: Array
    residual: Array


def spread_of(prior: Prior, kind: Kind, grid: Grid = GRID) -> Array:
    """Return the prior sd of ln of one kind of term at the points of the grid."""
    stitchers, garments = np.array(grid).T
    factor = {"stitcher": stitchers, "stitcher_operation": stitchers, "garment": garments}
    return floats(getattr(prior.spreads, kind) * factor.get(kind, np.ones(len(grid))))


def fit(log: Iterable[LoggedWork], prior: Prior | None = None) -> Fit:
    """Return what the log says of every term.

    The noise and the weights of the blocks are settled at the stated spreads, then held over the grid.
    The order of the log does not matter, and the same log gives the same bits. Raises Wrong for an entry that
    cannot be right. With no log the answer is the prior.
    """
    prior = Prior() if prior is None else prior
    blocks = day_blocks(log, prior)
    sheet = _sheet(blocks, prior)
    settled, weights = _settle(sheet, prior)
    solved = _solve(sheet, prior, GRID, settled, weights)
    return Fit(
        prior=prior,
        blocks=blocks,
        block_weights=weights,
        core=sheet.core,
        garments=sheet.garments,
        weights=_grid_weights(solved.ln_evidence),
        settled_noise=settled,
        noise=solved.scale / (solved.shape - 1),
        shape=solved.shape,
        scale=solved.scale,
        core_mean=solved.core_mean,
        core_variance=solved.core_variance,
        garment_mean=solved.garment_mean,
        garment_precision=solved.garment_precision,
        pull=solved.pull,
    )


def _settle(sheet: _Sheet, prior: Prior) -> tuple[float, Array]:
    """Return the noise that agrees with itself at the stated spreads, and the blocks' weights there."""
    noise = prior.block_noise**2
    weights = np.ones(len(sheet.row))
    for _ in range(MOST_ROUNDS):
        solved = _solve(sheet, prior, MIDDLE, noise, weights)
        before, noise = noise, float(solved.scale[0]) / (solved.shape - 1)
        weights = _weights(sheet, solved, noise, weights, prior.far_off)
        if abs(noise - before) < SETTLED * before:
            break
    return noise, weights


def _sheet(blocks: tuple[DayBlock, ...], prior: Prior) -> _Sheet:
    paces = sorted({block.pace for block in blocks})
    named = [dict(terms_of(prior, pace)) for pace in paces]
    terms = sorted({term for each in named for term in each} - {STUDIO, FINENESS})
    core = {term: place for place, term in enumerate([STUDIO, FINENESS, *terms])}
    garments = {name: place for place, name in enumerate(sorted({block.garment for block in blocks}))}
    shape = len(paces), TERMS_OF_A_PACE
    places = np.array([[core[term] for term in each] for each in named], dtype=np.intp).reshape(shape)
    amounts = np.array([list(each.values()) for each in named]).reshape(shape)
    rows = np.zeros((len(paces), len(core)))
    np.put_along_axis(rows, places, amounts, axis=1)
    row_of = {pace: place for place, pace in enumerate(paces)}
    guesses = [ln_guess(prior, pace) for pace in paces]
    row = np.array([row_of[block.pace] for block in blocks], dtype=np.intp)
    return _Sheet(
        core,
        garments,
        rows,
        places,
        amounts,
        row,
        np.array([garments[block.garment] for block in blocks], dtype=np.intp),
        np.array([block.ln_seconds - guesses[place] for block, place in zip(blocks, row, strict=True)]),
        1 / noise_of(prior, np.array([block.net_minutes for block in blocks])),
    )


def _solve(sheet: _Sheet, prior: Prior, grid: Grid, noise: float, weights: Array) -> _Solved:
    """Solve the weighted equations at all points of the grid at once."""
    held = np.stack([noise / spread_of(prior, term.kind, grid) ** 2 for term in sheet.core], axis=1)
    held_garment = noise / spread_of(prior, "garment", grid) ** 2
    precision = weights * sheet.precision
    told = precision * sheet.deviation
    across = _across(sheet, precision)
    own = _by_garment(sheet, precision) + held_garment[:, None]
    pull = across / own[:, None, :]
    information = (sheet.rows.T * _by_row(sheet, precision)) @ sheet.rows
    reduced = information + np.eye(len(sheet.core)) * held[:, None, :] - pull @ across.T
    core_variance = np.linalg.inv(reduced)
    told_garment = _by_garment(sheet, told)
    told_core = sheet.rows.T @ _by_row(sheet, told) - pull @ told_garment
    core_mean = np.einsum("gkl,gl->gk", core_variance, told_core)
    garment_mean = told_garment / own - np.einsum("gk,gkp->gp", core_mean, pull)
    residual = sheet.deviation - (core_mean @ sheet.rows.T)[:, sheet.row] - garment_mean[:, sheet.garment]
    shape = prior.noise_shape + float(weights.sum()) / 2
    squares = residual**2 @ precision + (held * core_mean**2).sum(axis=1)
    squares += held_garment * (garment_mean**2).sum(axis=1)
    scale = prior.block_noise**2 * (prior.noise_shape - 1) + squares / 2
    ln_held = np.log(held).sum(axis=1) + len(sheet.garments) * np.log(held_garment)
    ln_told = np.linalg.slogdet(reduced)[1] + np.log(own).sum(axis=1)
    ln_evidence = (ln_held - ln_told) / 2 - shape * np.log(scale)
    return _Solved(
        core_mean,
        (core_variance + core_variance.transpose(0, 2, 1)) / 2,
        garment_mean,
        own,
        pull,
        shape,
        scale,
        ln_evidence,
        residual,
    )


def _by_row(sheet: _Sheet, values: Array) -> Array:
    return floats(np.bincount(sheet.row, values, minlength=len(sheet.rows)))


def _by_garment(sheet: _Sheet, values: Array) -> Array:
    return floats(np.bincount(sheet.garment, values, minlength=len(sheet.garments)))


def _across(sheet: _Sheet, precision: Array) -> Array:
    """Return what the blocks tell of each core term together with each garment (K, P)."""
    shape = (len(sheet.core), len(sheet.garments))
    place = sheet.places[sheet.row] * shape[1] + sheet.garment[:, None]
    told = sheet.amounts[sheet.row] * precision[:, None]
    sums = np.bincount(place.ravel(), told.ravel(), minlength=shape[0] * shape[1])
    return floats(sums).reshape(shape)


def _weights(sheet: _Sheet, solved: _Solved, noise: float, weights: Array, far_off: float) -> Array:
    """Return 1 for a block within `far_off` sds of its leave-one-out mean, else (far_off / |z|) squared."""
    leverage = weights * sheet.precision * _variance_of_means(sheet, solved)
    left = np.maximum(1 - leverage, SETTLED)
    z = np.abs(solved.residual[0]) * np.sqrt(sheet.precision / (noise * left))
    return floats((far_off / np.maximum(z, far_off)) ** 2)


def _variance_of_means(sheet: _Sheet, solved: _Solved) -> Array:
    """Return the variance of every block's fitted mean at the first point, in units of the noise's."""
    variance, pull = solved.core_variance[0], solved.pull[0]
    of_row = (sheet.rows @ variance * sheet.rows).sum(axis=1)
    drawn_along = variance @ pull
    of_garment = (pull * drawn_along).sum(axis=0) + 1 / solved.garment_precision[0]
    places, amounts = sheet.places[sheet.row], sheet.amounts[sheet.row]
    crossed = (amounts * drawn_along[places, sheet.garment[:, None]]).sum(axis=1)
    return floats(of_row[sheet.row] - 2 * crossed + of_garment[sheet.garment])


def _grid_weights(ln_evidence: Array) -> Array:
    raised = np.array(GRID_WEIGHTS) * np.exp(ln_evidence - ln_evidence.max())
    return floats(raised / raised.sum())
