"""Two thousand joint draws of everything a fit leaves open: once a fit, in the space of its terms.

Every unknown has its own stream of normal scores, found by its name. The same name gives the same stream, so a
question that changes one line leaves the draws of all others as they were, bit for bit. A stream holds each of the
2,000 normal scores once, in an order of its own: by itself it has no sampling error at all.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from hashlib import blake2b
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from service.reckoning.arrays import Array, floats
from service.reckoning.chances import inverse_gamma_quantiles
from service.reckoning.rates import KINDS, Kind, Term
from service.reckoning.rates_fit import Fit, spread_of

DRAWS = 2000
SEED = 1968
SHUFFLES = 256  # rows of shuffled scores; a stream is one row turned round by some places
LEAST_SHUFFLES = 16


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """The draws of one fit: which grid point each belongs to, its noise, and a value of every term seen in the log."""

    fit: Fit
    draws: int
    point: NDArray[np.intp]
    noise: Array  # variance of ln of a 60-minute block
    core: Array  # (K, draws)
    wide: Mapping[Kind, Array]  # for each kind of term the sd of one that the log knows nothing of
    garments: Mapping[str, Array]

    def value(self, term: Term) -> Array:
        """Return the draws of a term: from the log when it was seen there, else from its prior."""
        if term in self.fit.core:
            return floats(self.core[self.fit.core[term]])
        if term.kind == "garment" and term.name in self.fit.garments:
            return self.garments[term.name] if term.name in self.garments else _garment(self, term)
        return floats(self.wide[term.kind] * scores(term, self.draws))


def scores(name: Sequence[str], draws: int = DRAWS) -> Array:
    """Return the stream of normal scores that belongs to this name (its parts in order)."""
    orders = _orders(draws)
    row, turn = _where("\x1f".join(name), len(orders), draws)
    return _ranked(draws)[np.concatenate((orders[row, turn:], orders[row, :turn]))]


def single_scores(name: Sequence[str], draws: int = DRAWS) -> NDArray[np.float32]:
    """Return the same stream in single precision."""
    rows = _single_twice(draws)
    row, turn = _where("\x1f".join(name), len(rows), draws)
    return rows[row, turn : turn + draws]


@lru_cache(maxsize=20_000)
def _where(name: str, rows: int, draws: int) -> tuple[int, int]:
    digest = blake2b(name.encode(), digest_size=16).digest()
    return int.from_bytes(digest[:8]) % rows, int.from_bytes(digest[8:]) % draws


@lru_cache(maxsize=2)
def _single_twice(draws: int) -> NDArray[np.float32]:
    """Every row twice, so that one turned round is read where it lies: a forecast reads hundreds of them."""
    once = _ranked(draws).astype(np.float32)[_orders(draws)]
    twice = np.concatenate([once, once], axis=1)
    twice.flags.writeable = False
    return twice


@lru_cache(maxsize=2)
def _ranked(draws: int) -> Array:
    """The normal scores, the least first."""
    normal = NormalDist()
    return np.array([normal.inv_cdf((place + 0.5) / draws) for place in range(draws)])


@lru_cache(maxsize=2)
def _orders(draws: int) -> NDArray[np.unsignedinteger]:
    """Rows of the places of all scores, each in an order of its own; places take a quarter of what the scores would."""
    places = np.arange(draws, dtype=np.min_scalar_type(draws - 1))
    many = max(LEAST_SHUFFLES, SHUFFLES * DRAWS // max(draws, DRAWS))
    rows = np.tile(places, (many, 1))
    return np.random.default_rng(SEED).permuted(rows, axis=1, out=rows)


def draw(fit: Fit, garments: Sequence[str] = (), draws: int = DRAWS) -> Drawn:
    """Return the joint draws of a fit, with the effects of these garments worked out beforehand."""
    point = np.repeat(np.arange(len(fit.weights)), _quotas(fit.weights, draws))
    noise = np.empty(draws)
    core = np.empty((len(fit.core), draws))
    wild = np.stack([scores(term, draws) for term in fit.core])
    luck = scores(("noise",), draws)
    for place in range(len(fit.weights)):
        here = np.flatnonzero(point == place)
        chances = (np.argsort(np.argsort(luck[here])) + 0.5) / max(len(here), 1)
        noise[here] = inverse_gamma_quantiles(fit.shape, float(fit.scale[place]), chances)
        root = np.linalg.cholesky(fit.core_variance[place])
        core[:, here] = fit.core_mean[place][:, None] + np.sqrt(noise[here]) * (root @ wild[:, here])
    relative = np.sqrt(noise / fit.settled_noise)
    wide = {kind: spread_of(fit.prior, kind)[point] * relative for kind in KINDS}
    bare = Drawn(fit, draws, point, noise, core, wide, {})
    known = {name: _garment(bare, Term("garment", name)) for name in garments if name in fit.garments}
    return Drawn(fit, draws, point, noise, core, wide, known)


def _quotas(weights: Array, draws: int) -> NDArray[np.intp]:
    """Share the draws out over the grid points by largest remainder."""
    exact = weights * draws
    quotas = np.floor(exact).astype(np.intp)
    short = draws - int(quotas.sum())
    quotas[np.argsort(quotas - exact, kind="stable")[:short]] += 1
    return quotas


def _garment(drawn: Drawn, term: Term) -> Array:
    """Return the draws of a logged garment's effect, given the draws of the core terms."""
    fit, column = drawn.fit, drawn.fit.garments[term.name]
    effect = np.empty(drawn.draws)
    start = 0
    for place, many in enumerate(np.bincount(drawn.point, minlength=len(fit.weights))):
        here = slice(start, start + many)
        away = drawn.core[:, here] - fit.core_mean[place][:, None]
        effect[here] = fit.garment_mean[place, column] - fit.pull[place, :, column] @ away
        start += many
    spread = np.sqrt(drawn.noise / fit.garment_precision[drawn.point, column])
    return floats(effect + spread * scores(term, drawn.draws))
