"""A finished piece looked back on: what it took, and what the log before it would have foreseen."""

import math
from collections.abc import Sequence
from datetime import date

from service.reckoning.asked import Wrong
from service.reckoning.draws import draw
from service.reckoning.forecast import drawn_hours
from service.reckoning.hours import Line, Stretch, hours_range
from service.reckoning.rates import LoggedWork, Prior
from service.reckoning.rates_fit import fit
from service.reckoning.track_record import Finished

MINUTES_PER_HOUR = 60


def begun_on(log: Sequence[LoggedWork], garment: str) -> date | None:
    """Return the first day on which work on a garment is logged, None when there is none."""
    return min((entry.day for entry in log if entry.garment == garment), default=None)


def hindsight(log: Sequence[LoggedWork], garment: str, prior: Prior | None = None) -> Finished:
    """Return the hours that a garment took and the range foreseen on the day before it was begun.

    Foreseen is the work that was logged with its minutes, by those who did it, from the log of the days before and
    the guesses of then (`prior`; left out, the stated ones). Raises Wrong for a garment of which nothing is logged.
    """
    own = [entry for entry in log if entry.garment == garment]
    begun = begun_on(log, garment)
    if begun is None:
        raise Wrong("garment", "has nothing logged to look back on")
    drawn = draw(fit([entry for entry in log if entry.day < begun], prior))
    foreseen = hours_range(drawn_hours(drawn, _stretches(own)).sum(axis=0))
    taken = math.fsum(entry.minutes for entry in own) / MINUTES_PER_HOUR
    return Finished(taken, foreseen.p50, foreseen.p10, foreseen.p90)


def _stretches(own: Sequence[LoggedWork]) -> list[Stretch]:
    """Return the work as it would have been planned: a stretch for each stitcher, alike work together."""
    held: dict[str, dict[tuple[str, float, float | None], float]] = {}
    for entry in own:
        amounts = held.setdefault(entry.stitcher, {})
        alike = (entry.operation, entry.threads_per_cm, entry.thread_length_mm)
        amounts[alike] = amounts.get(alike, 0) + entry.units
    return [
        Stretch(
            f"{own[0].garment} {stitcher}", tuple(_line(*alike, units) for alike, units in amounts.items()), stitcher
        )
        for stitcher, amounts in held.items()
    ]


def _line(operation: str, threads_per_cm: float, thread_length_mm: float | None, units: float) -> Line:
    return Line(operation, units, threads_per_cm, thread_length_mm)
