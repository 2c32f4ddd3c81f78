"""What was logged, and the terms that explain it: ln seconds a unit of every operation.

One day-block b (all entries of one day, stitcher, operation, fineness and garment added up) has

    y_b = ln seconds a unit = guess + studio + operation + fineness x exposure x ln(threads / 20)
                              + stitcher + stitcher at this operation + garment + noise

Every spread below is a guess from memory, no source; the log is to overrule it (`service.reckoning.rates_fit`).
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from types import MappingProxyType
from typing import Literal, NamedTuple, get_args

import numpy as np
from numpy.typing import NDArray

from service.reckoning.arrays import floats
from service.reckoning.asked import Wrong, above_zero
from service.reckoning.operations import (
    FINENESS_EXPONENT,
    GUESS_THREAD_LENGTH_MM,
    GUESS_THREADS_PER_CM,
    OPERATIONS,
)

MINUTES_IN_A_DAY = 1440
# the newest day-blocks that a fit looks at, of so many garments and terms: older work says little of today's pace
MOST_BLOCKS = 5000
MOST_GARMENTS = 1000
MOST_TERMS = 400
TERMS_OF_A_PACE = 5
MOST_THREADS_PER_CM = 400
MOST_UNITS = 1e6
MOST_THREAD_LENGTH_MM = 100_000

Kind = Literal["studio", "fineness", "operation", "stitcher", "stitcher_operation", "garment"]
KINDS: tuple[Kind, ...] = get_args(Kind)


class Term(NamedTuple):
    """One unknown of the model: its kind, and whose it is."""

    kind: Kind
    name: str = ""
    operation: str = ""


STUDIO = Term("studio")
FINENESS = Term("fineness")


class Pace(NamedTuple):
    """Whose rate at what: a stitcher ("" for somebody unknown), an operation, a fineness."""

    stitcher: str
    operation: str
    threads_per_cm: float


@dataclass(frozen=True, slots=True)
class Guess:
    """Seconds a unit at 20 threads per cm, and the exposure to a finer cloth from 0 (none) to 1 (full)."""

    seconds: float
    exposure: float


@dataclass(frozen=True, slots=True)
class Spreads:
    """Standard deviations of ln for each kind of term: guesses from memory, no source."""

    studio: float = 0.30
    fineness: float = 0.30
    operation: float = 0.35
    stitcher: float = 0.25
    stitcher_operation: float = 0.15
    garment: float = 0.12


def starting_guesses() -> Mapping[str, Guess]:
    """Return the guess of every operation in the table of operations.

    >>> starting_guesses()["hem_knot"]
    Guess(seconds=22, exposure=1.0)
    """
    return MappingProxyType({name: Guess(each.guess_seconds, each.exposure) for name, each in OPERATIONS.items()})


@dataclass(frozen=True, slots=True)
class Prior:
    """What is believed before any log.

    `block_noise` is the sd of ln of a 60-minute block, known as well as `2 x noise_shape` blocks would tell;
    `day_share` is the share of that noise which belongs to the day; `setup_minutes` are spent once a day-block;
    a block more than `far_off` standard deviations off is weighted down.
    """

    guesses: Mapping[str, Guess] = field(default_factory=starting_guesses)
    fineness_exponent: float = FINENESS_EXPONENT
    spreads: Spreads = field(default_factory=Spreads)
    block_noise: float = 0.20
    noise_shape: float = 4.0
    day_share: float = 0.5
    setup_minutes: float = 4.0
    far_off: float = 2.5


@dataclass(frozen=True, slots=True)
class LoggedWork:
    """So many units done in so many minutes; `thread_length_mm` counts for withdrawing only."""

    day: date
    stitcher: str
    operation: str
    threads_per_cm: float
    garment: str
    units: float
    minutes: float
    thread_length_mm: float | None = None

    @property
    def units_counted(self) -> float:
        """Units, threads to withdraw counted by their length."""
        return units_of(self.operation, self.units, self.thread_length_mm)


@dataclass(frozen=True, slots=True)
class DayBlock:
    """One day's work of one stitcher at one operation, cloth and garment: net minutes, ln seconds a unit."""

    day: date
    pace: Pace
    garment: str
    net_minutes: float
    ln_seconds: float


def units_of(operation: str, quantity: float, thread_length_mm: float | None) -> float:
    """Return the units of `quantity`; threads to withdraw count by their length, 250 mm being one.

    >>> units_of("withdraw", 10, 500), units_of("clip", 10, 500)
    (20.0, 10)
    """
    if operation != "withdraw" or thread_length_mm is None:
        return quantity
    return quantity * thread_length_mm / GUESS_THREAD_LENGTH_MM


def guess_of(prior: Prior, operation: str, where: str = "operation") -> Guess:
    """Return the starting guess of `operation`, or raise Wrong at `where`."""
    if operation not in prior.guesses:
        raise Wrong(where, f"there is no operation called {operation!r}")
    return prior.guesses[operation]


def ln_guess(prior: Prior, pace: Pace) -> float:
    """Return the prior mean of ln seconds a unit, for somebody unknown on a new garment.

    Raises Wrong for an operation that has no guess.

    >>> round(math.exp(ln_guess(Prior(), Pace("", "ladder_knot", 40))), 2)
    24.62
    """
    guess = guess_of(prior, pace.operation)
    return math.log(guess.seconds) + prior.fineness_exponent * ln_fineness(guess, pace)


def ln_fineness(guess: Guess, pace: Pace) -> float:
    """Return exposure x ln(threads per cm / 20)."""
    return guess.exposure * math.log(pace.threads_per_cm / GUESS_THREADS_PER_CM)


def terms_of(prior: Prior, pace: Pace) -> tuple[tuple[Term, float], ...]:
    """Return the terms of a pace with their coefficients; a garment's own effect is not among them."""
    return (
        (STUDIO, 1.0),
        (FINENESS, ln_fineness(guess_of(prior, pace.operation), pace)),
        (Term("operation", operation=pace.operation), 1.0),
        (Term("stitcher", pace.stitcher), 1.0),
        (Term("stitcher_operation", pace.stitcher, pace.operation), 1.0),
    )


def noise_of(prior: Prior, net_minutes: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the noise of blocks against one of 60 minutes, as factors on the variance.

    >>> noise_of(Prior(), np.array([60.0, 2.0])).tolist()
    [1.0, 3.5]
    """
    share = prior.day_share
    return floats(share + (1 - share) * 60 / np.maximum(net_minutes, 10))


def day_blocks(log: Iterable[LoggedWork], prior: Prior) -> tuple[DayBlock, ...]:
    """Return the log as day-blocks in a fixed order: the newest 5,000 at most, of so many people and garments.

    Entries of one day, stitcher, operation, fineness and garment are added up, so that one entry cut in two
    changes nothing. Raises Wrong, naming the entry, for one that cannot be. The log is read once, entry by entry.
    """
    gathered: dict[tuple[date, Pace, str], list[tuple[float, float]]] = {}  # minutes and units of each entry
    for place, each in enumerate(log):
        check_logged(each, f"log.{place}", prior)
        pace = Pace(each.stitcher, each.operation, float(each.threads_per_cm))
        gathered.setdefault((each.day, pace, each.garment), []).append((each.minutes, each.units_counted))
    return tuple(_block(key, gathered[key], prior) for key in _newest(sorted(gathered)))


def _newest(keys: Sequence[tuple[date, Pace, str]]) -> Sequence[tuple[date, Pace, str]]:
    terms: set[tuple[str, ...]] = set()
    garments: set[str] = set()
    first = max(0, len(keys) - MOST_BLOCKS)
    for place in range(len(keys) - 1, first - 1, -1):
        _, pace, garment = keys[place]
        garments.add(garment)
        terms |= {(pace.stitcher,), ("", pace.operation), (pace.stitcher, pace.operation)}
        if len(terms) > MOST_TERMS or len(garments) > MOST_GARMENTS:
            return keys[place + 1 :]
    return keys[first:]


def _block(key: tuple[date, Pace, str], entries: Sequence[tuple[float, float]], prior: Prior) -> DayBlock:
    minutes, units = (math.fsum(each) for each in zip(*entries, strict=True))
    return DayBlock(*key, *ln_seconds_of(prior, minutes, units))


def ln_seconds_of(prior: Prior, minutes: float, units: float) -> tuple[float, float]:
    """Return the net minutes, set-up taken off (at most half), and ln seconds a unit.

    >>> [round(each, 3) for each in ln_seconds_of(Prior(), 64, 150)]
    [60.0, 3.178]
    """
    net = max(minutes - prior.setup_minutes, minutes / 2)
    return net, math.log(60 * net / units)


def check_logged(entry: LoggedWork, where: str, prior: Prior) -> None:
    """Raise Wrong, naming the field under `where`, when an entry cannot be right."""
    if not isinstance(entry.day, date):
        raise Wrong(f"{where}.day", "must be a day")
    for name, value in (("stitcher", entry.stitcher), ("garment", entry.garment)):
        if not isinstance(value, str) or not value:
            raise Wrong(f"{where}.{name}", "needs a name")
    guess_of(prior, entry.operation, f"{where}.operation")
    above_zero(f"{where}.threads_per_cm", entry.threads_per_cm, MOST_THREADS_PER_CM)
    above_zero(f"{where}.units", entry.units, MOST_UNITS)
    above_zero(f"{where}.minutes", entry.minutes, MINUTES_IN_A_DAY)
    if entry.thread_length_mm is not None:
        above_zero(f"{where}.thread_length_mm", entry.thread_length_mm, MOST_THREAD_LENGTH_MM)
