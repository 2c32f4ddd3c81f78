"""How long the fit, the draws and the forecast of a full work table take, on this machine, now.

A fit of 1,500 day-blocks; 200 open garments in 400 stretches of five lines each, by five stitchers on six cloths, in
2,000 draws. `python -m tests.bench.forecast_speed` prints milliseconds of the processor, the best of several: what
other programs take of a busy machine is left out. The fit and the forecast have a target; the command fails when
either misses it.
"""

import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from service.reckoning.capacity import Stitcher
from service.reckoning.dates import DatesAsk, Job, garment_days, plan_days, work_off
from service.reckoning.draws import draw
from service.reckoning.forecast import drawn_hours
from service.reckoning.hours import Line, Stretch
from service.reckoning.rates import LoggedWork, starting_guesses
from service.reckoning.rates_fit import fit

BLOCKS, OPEN, TIMES = 1500, 200, 40
FIT_TARGET_MS, FORECAST_TARGET_MS = 300.0, 50.0
STITCHERS = ("Ada", "Bea", "Cleo", "Dora", "Eve")
CLOTHS = (14.0, 18.0, 20.0, 24.0, 28.0, 32.0)
SECTION = ("mark", "edge_stitch", "clip", "withdraw", "ladder_knot")
FINISH = ("hem_knot", "whip_bias", "seam", "fasten_off", "press")
MONDAY = date(2024, 1, 1)


def log() -> list[LoggedWork]:
    """Two years of an invented studio: ten blocks a garment."""
    rng = np.random.default_rng(7)
    guesses = starting_guesses()
    told = []
    for number in range(BLOCKS):
        garment, what = number // 10, str(rng.choice(SECTION + FINISH))
        units = float(rng.integers(20, 200))
        minutes = float(np.clip(units * guesses[what].seconds / 60 * np.exp(rng.normal(0, 0.3)), 5, 400))
        who, day = str(rng.choice(STITCHERS)), MONDAY - timedelta(1 + (BLOCKS - number) // 2)
        told.append(LoggedWork(day, who, what, CLOTHS[garment % 6], f"P{garment}", units, minutes))
    return told


def open_work() -> list[Stretch]:
    """Two stretches a garment: a section, then the finish, each in somebody's hands; fifty garments are begun."""
    rng = np.random.default_rng(8)
    stretches = []
    for number in range(OPEN):
        name = f"P{100 + number}"
        for part, operations in enumerate((SECTION, FINISH)):
            lines = tuple(Line(what, float(rng.integers(10, 300)), CLOTHS[number % 6]) for what in operations)
            stretches.append(Stretch(f"{name} {part}", lines, STITCHERS[(number + part) % 5], name))
    return stretches


def plan(stretches: list[Stretch], hours: np.ndarray) -> DatesAsk:
    """Every garment due a few days after the one before, its finish after its section."""
    stitchers = tuple(Stitcher(name, (4.0, 4.0, 0.0, 5.0, 5.0, 1.0, 0.0)) for name in STITCHERS)
    jobs = tuple(
        Job(
            each.id,
            each.garment,
            each.stitcher,
            hours[place],
            MONDAY + timedelta(20 + 4 * (place // 2)) if place % 2 else None,
            (stretches[place - 1].id,) if place % 2 else (),
        )
        for place, each in enumerate(stretches)
    )
    return DatesAsk(MONDAY, stitchers, jobs)


def best_ms(work: Callable[[], object]) -> float:
    """The shortest of several runs, in milliseconds of the processor."""
    taken = []
    for _ in range(TIMES):
        begun = time.process_time()
        work()
        taken.append(time.process_time() - begun)
    return 1000 * min(taken)


@dataclass(frozen=True, slots=True)
class Taken:
    """What was timed, the milliseconds it took, and the most it may take, if there is a target."""

    what: str
    milliseconds: float
    target: float | None = None

    @property
    def is_missed(self) -> bool:
        """Whether it took longer than its target."""
        return self.target is not None and self.milliseconds > self.target

    def __str__(self) -> str:
        """One line: the figure, and beside its target whether it keeps it."""
        beside = (
            "" if self.target is None else f" (target {self.target:.0f} ms: {'MISS' if self.is_missed else 'pass'})"
        )
        return f"{self.what}: {self.milliseconds:.1f} ms{beside}"


def found() -> list[Taken]:
    """Everything that is timed."""
    told, stretches = log(), open_work()
    known = fit(told)
    garments = [each.garment for each in stretches]
    drawn = draw(known, garments)
    ask = plan(stretches, drawn_hours(drawn, stretches))

    def forecast() -> None:
        asked = plan(stretches, drawn_hours(drawn, stretches))
        garment_days(asked, work_off(asked))

    return [
        Taken(f"fit of {len(known.blocks)} day-blocks, once a log", best_ms(lambda: fit(told)), FIT_TARGET_MS),
        Taken("draws, once a fit", best_ms(lambda: draw(known, garments))),
        Taken("hours of 400 stretches, 2,000 lines", best_ms(lambda: drawn_hours(drawn, stretches))),
        Taken("dates of 200 garments", best_ms(lambda: garment_days(ask, work_off(ask)))),
        Taken("the same with every job's days", best_ms(lambda: plan_days(ask))),
        Taken("forecast, hours and dates of 200 garments", best_ms(forecast), FORECAST_TARGET_MS),
    ]


def main() -> int:
    """Print the table; 1 when a target is missed."""
    taken = found()
    for each in taken:
        print(each)
    return int(any(each.is_missed for each in taken))


if __name__ == "__main__":
    sys.exit(main())
