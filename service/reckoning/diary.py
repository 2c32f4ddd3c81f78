"""The diary: who is expected to work on what, day by day, when everything takes its likely time."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from service.reckoning.capacity import DUST, day_of
from service.reckoning.dates import DatesAsk, Job, Span, at_least


@dataclass(frozen=True, slots=True)
class DiaryLine:
    """So many planned hours of a stitcher on a job, on one day."""

    day: date
    stitcher: str
    garment: str
    job: str
    hours: float


def diary(ask: DatesAsk, plan: Mapping[str, Span], days: int, first: int = 0) -> tuple[DiaryLine, ...]:
    """Return who is expected to work on what in `days` days of a plan from its day `first` on, stitcher by stitcher.

    A job is written from the hour at which it is likely begun to the one at which it is likely done, so that its last
    line stands on its likely day. `plan` is what `work_off` made of `ask`.
    """
    written = [line for job in ask.jobs for line in _lines(ask, job, plan[job.id], range(first, first + days))]
    place = {each.name: number for number, each in enumerate(ask.stitchers)}
    return tuple(line for _, line in sorted(written, key=lambda one: (one[1].day, place[one[1].stitcher], one[0])))


def _lines(ask: DatesAsk, job: Job, span: Span, days: range) -> Iterator[tuple[float, DiaryLine]]:
    """Cut a job's span of hours where its stitcher's days end."""
    if not span.has_work:
        return
    (begun,), (ended,) = at_least(span.begun, (0.5,)), at_least(span.ended, (0.5,))
    by_day = span.hers.by_day[: days.stop]
    for place in days[: max(0, len(by_day) - days.start)]:
        day_begins = float(by_day[place - 1]) if place else 0.0
        hours = min(ended, float(by_day[place])) - max(begun, day_begins)
        if hours > DUST:
            yield begun, DiaryLine(day_of(ask.start, place), job.stitcher, job.garment, job.id, hours)
        if by_day[place] >= ended:
            return
