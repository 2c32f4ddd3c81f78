"""A finished piece looked back on: what it took, and what the log before it would have foreseen."""

import math
from collections.abc import Sequence

from service.reckoning.draws import draw
from service.reckoning.forecast import drawn_hours
from service.reckoning.hours import Line, Stretch, hours_range
from service.reckoning.rates import LoggedWork
from service.reckoning.rates_fit import fit
from service.reckoning.track_record import Finished

MINUTES_PER_HOUR = 60


def hindsight(log: Sequence[LoggedWork], garment: str) -> Finished | None:
    """Return the hours that a garment took and the range foreseen on the day before it was begun.

    Foreseen is the work that was logged with its minutes, by those who did it, from the log of the days before.
    None for a garment of which nothing is logged.
    """
    own = [entry for entry in log if entry.garment == garment]
    if not own:
        return None
    begun = min(entry.day for entry in own)
    drawn = draw(fit([entry for entry in log if entry.day < begun]))
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
