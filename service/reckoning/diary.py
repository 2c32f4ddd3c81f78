"""The diary: who is expected to work on what, day by day, when everything takes its likely time."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from service.reckoning.capacity import DUST, day_of
from service.reckoning.dates import DatesAsk, Job, Span, work_off
from service.reckoning.paces import Range


@dataclass(frozen=True, slots=True)
class DiaryLine:
    """So many planned hours of a stitcher on a job, on one day."""

    day: date
    stitcher: str
    garment: str
    job: str
    hours: float


def diary(ask: DatesAsk, days: int) -> tuple[DiaryLine, ...]:
    """Return who is expected to work on what in the first days of a plan: day by day, stitcher by stitcher.

    Likely hours are lengthened by the stitcher's likely availability. Raises Wrong for what cannot be planned.
    """
    availability = {each.name: each.availability.median for each in ask.stitchers}
    likely = replace(ask, jobs=tuple(replace(job, hours=_likely(job, availability)) for job in ask.jobs))
    plan = work_off(likely)
    written = [line for job in likely.jobs for line in _lines(likely, job, plan[job.id], days)]
    place = {each.name: number for number, each in enumerate(ask.stitchers)}
    return tuple(line for _, line in sorted(written, key=lambda one: (one[1].day, place[one[1].stitcher], one[0])))


def _likely(job: Job, availability: dict[str, float]) -> float:
    if isinstance(job.hours, int | float):
        return job.hours
    hours = job.hours.p50 if isinstance(job.hours, Range) else float(np.median(job.hours))
    return hours / availability.get(job.stitcher, 1.0)


def _lines(ask: DatesAsk, job: Job, span: Span, days: int) -> Iterator[tuple[float, DiaryLine]]:
    """Cut a job's span of hours where its stitcher's days end."""
    begun, ended = float(span.begun[0]), float(span.ended[0])
    day_begins = 0.0
    for place, day_ends in enumerate(span.hers.by_day[:days]):
        hours = min(ended, float(day_ends)) - max(begun, day_begins)
        if hours > DUST:
            yield begun, DiaryLine(day_of(ask.start, place), job.stitcher, job.garment, job.id, hours)
        day_begins = float(day_ends)
        if day_begins >= ended:
            return
