"""Calibration: how often the ranges hold in invented studios whose true paces are known.

Each studio has four stitchers (half, three tenths, a seventh, a twentieth of the sessions), ten operations, three
cloths and a new garment every six sessions; minutes are rounded to five, and some are slips of a digit. After so many
sessions three garments are forecast: the rest of the one in hand and two new ones, in anybody's hands.

    as stated   the truth is drawn from the spreads that the model states, its noise from the stated inverse gamma
    tame        all spreads halved, noise 0.12, slips 1 %
    hostile     all work 35 % longer than guessed, spreads half as wide again, noise 0.35 with Student's t(5), slips 4 %

`python -m tests.bench.calibration` prints the table for the code as it stands, and how long it took: 300 studios a
cell unless `--studios` says otherwise, after 3, 10, 30 and 100 sessions unless `--sessions` names others, in every
regime unless `--regime` names some. An 80 % range should hold the true hours about eight times in ten; of n studios
(three garments each, alike within a studio) the share is sure to about 40 / √n points. The widening by the studio's
own record is no part of it.
"""

import argparse
import math
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from service.reckoning.closed_form import closed_form
from service.reckoning.draws import draw
from service.reckoning.forecast import drawn_hours
from service.reckoning.hours import BLOCK_MINUTES, Line, Stretch
from service.reckoning.rates import LoggedWork, Pace, Prior, ln_fineness, ln_guess, noise_of
from service.reckoning.rates_fit import fit

Array = NDArray[np.float64]

STUDIOS = 300
SESSIONS = (3, 10, 30, 100)
SEED = 2024
STITCHERS = ("Ada", "Bea", "Cleo", "Dora")
SHARES = (0.50, 0.30, 0.15, 0.05)
OPERATIONS = (
    "mark edge_stitch clip withdraw hem_knot ladder_knot pair_knot whip_bias press fasten_off".split()  # noqa: SIM905
)
CLOTHS = (14.0, 20.0, 28.0)
SESSIONS_A_GARMENT = 6
SETUP_MINUTES = 4
FIRST_DAY = date(2024, 1, 1)
CHANCES = (0.05, 0.10, 0.25, 0.50, 0.75, 0.90, 0.95)
PRIOR = Prior()


@dataclass(frozen=True, slots=True)
class Regime:
    """How the true studios differ from what the model states."""

    name: str
    spread: float
    noise: float | None
    slips: float
    longer: float = 1.0
    wild: bool = False


REGIMES = (
    Regime("as stated", 1.0, None, 0.02),
    Regime("tame", 0.5, 0.12, 0.01),
    Regime("hostile", 1.5, 0.35, 0.04, 1.35, wild=True),
)


class Truth:
    """One invented studio's true paces, and the chance that rules its sessions."""

    def __init__(self, regime: Regime, rng: np.random.Generator) -> None:
        self.regime, self.rng = regime, rng
        spreads, k = PRIOR.spreads, regime.spread
        self.studio = math.log(regime.longer) + rng.normal(0, k * spreads.studio)
        self.fineness = rng.normal(0, k * spreads.fineness)
        self.operation = dict(zip(OPERATIONS, rng.normal(0, k * spreads.operation, len(OPERATIONS)), strict=True))
        self.stitcher = dict(zip(STITCHERS, rng.normal(0, k * spreads.stitcher, len(STITCHERS)), strict=True))
        self.pair = {
            (who, what): rng.normal(0, k * spreads.stitcher_operation) for who in STITCHERS for what in OPERATIONS
        }
        scale = PRIOR.block_noise**2 * (PRIOR.noise_shape - 1)
        drawn = math.sqrt(scale / rng.gamma(PRIOR.noise_shape))
        self.noise = drawn if regime.noise is None else regime.noise
        self.garments: dict[str, tuple[float, float]] = {}

    def cloth(self, garment: str) -> float:
        """Threads per cm of a garment's cloth."""
        return self._garment(garment)[0]

    def _garment(self, garment: str) -> tuple[float, float]:
        if garment not in self.garments:
            effect = self.rng.normal(0, self.regime.spread * PRIOR.spreads.garment)
            self.garments[garment] = float(self.rng.choice(CLOTHS)), effect
        return self.garments[garment]

    def seconds(self, who: str, what: str, garment: str) -> float:
        """True seconds a unit."""
        cloth, effect = self._garment(garment)
        pace = Pace(who, what, cloth)
        away = self.studio + self.operation[what] + self.stitcher[who] + self.pair[who, what] + effect
        return math.exp(ln_guess(PRIOR, pace) + away + self.fineness * ln_fineness(PRIOR.guesses[what], pace))

    def wobble(self, minutes: float, shape: tuple[int, ...]) -> Array:
        """Noise factors of blocks of so many minutes."""
        luck = self.rng.standard_t(5, shape) / math.sqrt(5 / 3) if self.regime.wild else self.rng.normal(size=shape)
        return np.exp(self.noise * math.sqrt(float(noise_of(PRIOR, np.array([minutes]))[0])) * luck)

    def session(self, number: int) -> LoggedWork:
        """One session as it was logged, slips and all."""
        who = str(self.rng.choice(STITCHERS, p=SHARES))
        what, garment = str(self.rng.choice(OPERATIONS)), f"P{number // SESSIONS_A_GARMENT}"
        seconds = self.seconds(who, what, garment)
        units = max(1, round(self.rng.uniform(20, 110) * 60 / seconds))
        minutes = units * seconds / 60
        worked = minutes * float(self.wobble(minutes, (1,))[0]) + SETUP_MINUTES
        logged = max(5.0, 5.0 * round(worked / 5))
        if self.rng.random() < self.regime.slips:
            logged *= 10.0 if self.rng.random() < 0.5 else 0.1
        day = FIRST_DAY + timedelta(number)
        return LoggedWork(day, who, what, self.cloth(garment), garment, float(units), min(1440.0, logged))

    def work(self, garment: str, share: float) -> Stretch:
        """What is left of a garment: half to twice a guessed hour and a half of every operation."""
        lines = tuple(
            Line(
                what,
                max(1, round(share * self.rng.uniform(0.5, 2) * 5400 / PRIOR.guesses[what].seconds)),
                self.cloth(garment),
            )
            for what in OPERATIONS
        )
        return Stretch(garment, lines, str(self.rng.choice(STITCHERS)), garment)

    def hours(self, work: Stretch, times: int = 1) -> Array:
        """The hours that a stretch of work takes in truth, worked so many times over."""
        total = np.zeros(times)
        for line in work.lines:
            minutes = line.quantity * self.seconds(work.stitcher, line.operation, work.garment) / 60
            blocks = max(1, round(minutes / BLOCK_MINUTES))
            total += minutes * self.wobble(minutes / blocks, (times, blocks)).mean(axis=1) + blocks * SETUP_MINUTES
        return total / 60


Ranges = dict[str, Array]


def plain_average(log: Sequence[LoggedWork], work: Stretch, *, own: bool) -> Array:
    """The spreadsheet's way: total minutes over total units, lines apart, sd over the root of the sessions."""
    mean, variance = 0.0, 0.0
    for line in work.lines:
        told = [
            each for each in log if each.operation == line.operation and (each.stitcher == work.stitcher or not own)
        ]
        rate, relative = PRIOR.guesses[line.operation].seconds / 60, 0.35
        if told:
            rate = sum(each.minutes for each in told) / sum(each.units for each in told)
            rates = np.array([each.minutes / each.units for each in told])
            relative = float(rates.std(ddof=1) / rate) / math.sqrt(len(told)) if len(told) > 1 else 0.35
        mean += line.quantity * rate / 60
        variance += (line.quantity * rate / 60 * relative) ** 2
    normal = NormalDist(mean, math.sqrt(variance))
    return np.array([max(0.01, normal.inv_cdf(chance)) for chance in CHANCES])


def oracle(truth: Truth, work: Stretch) -> Array:
    """Whoever knows the true paces and the garment's effect: only the noise is left."""
    return np.quantile(truth.hours(work, 400), CHANCES)


def forecast(truth: Truth, sessions: int) -> Iterator[tuple[float, Ranges]]:
    """After so many sessions: for each of three garments the true hours and every method's quantiles."""
    log = [truth.session(number) for number in range(sessions)]
    known = fit(log)
    in_hand = f"P{(sessions - 1) // SESSIONS_A_GARMENT}"
    for garment, share in ((in_hand, 0.5), ("new one", 1.0), ("new two", 1.0)):
        work = truth.work(garment, share)
        drawn = draw(known, [garment])
        closed = closed_form(known, [work])
        yield (
            float(truth.hours(work)[0]),
            {
                "naive average": plain_average(log, work, own=True),
                "pooled average": plain_average(log, work, own=False),
                "this method (draws)": np.quantile(drawn_hours(drawn, [work])[0], CHANCES),
                "this method (closed form)": np.array([closed.hours(chance) for chance in CHANCES]),
                "oracle": oracle(truth, work),
            },
        )


@dataclass(frozen=True, slots=True)
class Row:
    """How one method did: coverage in per cent, mean absolute error of ln, and the 80 % range as a factor."""

    regime: str
    sessions: int
    method: str
    covered_50: float
    covered_80: float
    covered_90: float
    error: float
    width: float


def calibrate(regime: Regime, sessions: int, studios: int = STUDIOS) -> list[Row]:
    """Return how every method does in so many invented studios; the same studios for the same arguments."""
    found: dict[str, list[tuple[float, Array]]] = {}
    for studio in range(studios):
        seed = (SEED, REGIMES.index(regime), sessions, studio)
        for hours, ranges in forecast(Truth(regime, np.random.default_rng(seed)), sessions):
            for method, quantiles in ranges.items():
                found.setdefault(method, []).append((hours, quantiles))
    return [_row(regime.name, sessions, method, told) for method, told in found.items()]


def _row(regime: str, sessions: int, method: str, told: Sequence[tuple[float, Array]]) -> Row:
    hours = np.array([each for each, _ in told])
    p05, p10, p25, p50, p75, p90, p95 = np.stack([each for _, each in told], axis=1)

    def inside(low: Array, high: Array) -> float:
        return 100 * float(np.mean((low <= hours) & (hours <= high)))

    error = float(np.mean(np.abs(np.log(hours / p50))))
    width = float(np.median(p90 / p10))
    return Row(regime, sessions, method, inside(p25, p75), inside(p10, p90), inside(p05, p95), error, width)


def main(
    studios: int = STUDIOS,
    after: Sequence[int] = SESSIONS,
    regimes: Sequence[Regime] = REGIMES,
    say: Callable[[str], None] = print,
) -> list[Row]:
    """Print the table, one line for each regime, number of sessions and method; return its rows."""
    began = time.perf_counter()
    say("| regime | sessions | method | 50% | 80% | 90% | mean abs log error | 80% width |")
    say("|---|---|---|---|---|---|---|---|")
    rows = []
    for regime in regimes:
        for sessions in after:
            for row in calibrate(regime, sessions, studios):
                rows.append(row)
                covered = f"{row.covered_50:.0f} | {row.covered_80:.0f} | {row.covered_90:.0f}"
                say(
                    f"| {row.regime} | {row.sessions} | {row.method} | {covered} | {row.error:.3f} | x{row.width:.2f} |"
                )
    say(f"\n{studios} studios of three garments a cell, in {time.perf_counter() - began:.0f} seconds.")
    return rows


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="Print how often the ranges hold in invented studios.")
    parser.add_argument("--studios", type=int, default=STUDIOS, help="studios a cell")
    parser.add_argument("--sessions", type=int, nargs="+", default=SESSIONS, help="after how many sessions")
    names = [regime.name for regime in REGIMES]
    parser.add_argument("--regime", nargs="+", choices=names, default=names, help="how the truth differs")
    return parser.parse_args()


if __name__ == "__main__":
    asked = _options()
    main(asked.studios, asked.sessions, [regime for regime in REGIMES if regime.name in asked.regime])
