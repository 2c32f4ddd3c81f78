"""The question that the reckoner is asked about hours, and its answer."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from service.reckoning.asked import Wrong
from service.reckoning.draws import Drawn, draw
from service.reckoning.forecast import drawn_hours
from service.reckoning.hours import HoursRange, Line, Stretch, check_line, hours_range
from service.reckoning.operations import OPERATIONS
from service.reckoning.paces import Range, pace_quantiles
from service.reckoning.rates import LoggedWork, units_of
from service.reckoning.rates_fit import Fit, fit
from service.reckoning.track_record import widened

MANY_RECORDS = 30  # with fewer the guesses still speak louder than the log (our own calibration study)
MOST_LINES = 2000
MOST_RECORDS = 20_000


@dataclass(frozen=True, slots=True)
class Work:
    """A line of work, and the garment that it is on; None is a new one."""

    line: Line
    garment: str | None = None


@dataclass(frozen=True, slots=True)
class HoursAsk:
    """How long will this take? `stitcher` None is somebody unknown; `log` replaces the studio's own."""

    work: tuple[Work, ...]
    stitcher: str | None = None
    log: tuple[LoggedWork, ...] | None = None


@dataclass(frozen=True, slots=True)
class OperationHours:
    """One operation's part: its quantity, its pace without a garment's own effect, its likely hours."""

    operation: str
    unit: str
    quantity: float
    seconds_per_unit: Range
    hours_p50: float


@dataclass(frozen=True, slots=True)
class HoursAnswer:
    """The range of all the work together, its operations, and whether that is mostly guesses yet."""

    hours: HoursRange
    by_operation: tuple[OperationHours, ...]
    mostly_guesses: bool


def reckon_hours(ask: HoursAsk, studio: Drawn, kappa: float = 1.0) -> HoursAnswer:
    """Return how long the work will take.

    `studio` are the draws of the studio's own log and `kappa` its track record; neither counts when the question
    brings a log of its own. Raises Wrong for a line or an entry that cannot be right.
    """
    if len(ask.work) > MOST_LINES:
        raise Wrong("work", f"at most {MOST_LINES} lines can be reckoned at once, not {len(ask.work)}")
    if ask.log is not None and len(ask.log) > MOST_RECORDS:
        raise Wrong("log", f"at most {MOST_RECORDS} entries can be tried at once, not {len(ask.log)}")
    drawn, widening = (studio, kappa) if ask.log is None else (draw(fit(ask.log)), 1.0)
    for place, each in enumerate(ask.work):
        check_line(each.line, f"work.{place}", drawn.fit.prior)
    hours = drawn_hours(drawn, _stretches(ask))
    places: dict[str, list[int]] = {}
    for place, each in enumerate(ask.work):
        places.setdefault(each.line.operation, []).append(place)
    return HoursAnswer(
        hours_range(widened(hours.sum(axis=0), widening)),
        tuple(
            _operation(drawn.fit, ask, where, float(np.median(hours[where].sum(axis=0)))) for where in places.values()
        ),
        mostly_guesses(drawn.fit),
    )


def mostly_guesses(known: Fit) -> bool:
    """Return whether the log holds fewer than about thirty day-blocks."""
    return len(known.blocks) < MANY_RECORDS


def _stretches(ask: HoursAsk) -> list[Stretch]:
    """Make every line a stretch, named by what it is, so that a change to one leaves the noise of the others."""
    seen: dict[tuple[str, float | None, str], int] = {}
    stretches = []
    for each in ask.work:
        key = (each.line.operation, each.line.threads_per_cm, each.garment or "")
        seen[key] = seen.get(key, 0) + 1
        name = "\x1f".join(map(str, (*key, seen[key])))
        stretches.append(Stretch(name, (each.line,), ask.stitcher or "", each.garment or ""))
    return stretches


def _operation(known: Fit, ask: HoursAsk, where: Sequence[int], hours_p50: float) -> OperationHours:
    """Sum up the lines of one operation; of several cloths the pace is the one typical of all."""
    lines = [ask.work[place].line for place in where]
    quantity = sum(line.quantity for line in lines)
    weigh = [line.quantity / quantity if quantity else 1 / len(lines) for line in lines]
    longer = sum(w * units_of(line.operation, 1, line.thread_length_mm) for w, line in zip(weigh, lines, strict=True))
    paces = [line.pace(ask.stitcher or "") for line in lines]
    quantiles = pace_quantiles(known, paces, weigh, (0.1, 0.5, 0.9))
    operation = OPERATIONS[lines[0].operation]
    return OperationHours(
        operation.name, operation.unit, quantity, Range(*(longer * each for each in quantiles)), hours_p50
    )
