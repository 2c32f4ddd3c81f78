"""When each garment is done: jobs in order of their due days, worked off in every draw against everybody's hours.

A job's due day is its own or the earliest of those that wait for it (Lawler 1973, from memory); the earliest comes
first, which for one stitcher keeps the largest lateness least (Jackson 1955). What another stitcher hands over is
taken up the day after. With two stitchers or more no order is known to be best; what-ifs compare.
"""

import heapq
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from graphlib import CycleError, TopologicalSorter

import numpy as np
from numpy.typing import NDArray

from service.reckoning.arrays import Array, floats
from service.reckoning.asked import Wrong, above_zero, not_below
from service.reckoning.capacity import DUST, HORIZON_DAYS, Capacity, Days, Stitcher, capacity, check_stitcher, day_of
from service.reckoning.draws import DRAWS, scores
from service.reckoning.paces import Range
from service.reckoning.track_record import LIKELY_Z

MOST_JOBS = 2000
MOST_STITCHERS = 200
MOST_HOURS = 1e5
LAST_YEAR = 9900
SURE = 0.8
SHOWN_LEAST, SHOWN_MOST = 1, 99


@dataclass(frozen=True, slots=True, eq=False)
class Job:
    """Hours of one stitcher on one garment, after the jobs that it waits for.

    `hours` are exact when a number; a range has spread and is lengthened by her availability, as are drawn hours.
    """

    id: str
    garment: str
    stitcher: str
    hours: float | Range | Array
    due: date | None = None
    after: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class DatesAsk:
    """Who has which hours from which day on, and what is to be done."""

    start: date
    stitchers: tuple[Stitcher, ...]
    jobs: tuple[Job, ...]


@dataclass(frozen=True, slots=True)
class GarmentDays:
    """The likely day and the day by which it is 80 % sure; the chance that all due days are kept, if there are any."""

    garment: str
    p50: date
    p80: date
    chance_in_time: float | None


@dataclass(frozen=True, slots=True)
class JobDays:
    """The likely days of a job's beginning and end."""

    id: str
    starts: date
    ends: date


@dataclass(frozen=True, slots=True)
class Dates:
    """The answer, garments and jobs in the order in which they were asked about."""

    garments: tuple[GarmentDays, ...]
    jobs: tuple[JobDays, ...]


def reckon_dates(ask: DatesAsk) -> Dates:
    """Return the dates of a plan, refusing due days that lie before its start.

    Raises Wrong, naming the field, for what cannot be planned.
    """
    for place, job in enumerate(ask.jobs):
        if job.due is not None and job.due < ask.start:
            raise Wrong(f"jobs.{place}.due", f"lies before the start, {ask.start.isoformat()}")
    return plan_days(ask)


def plan_days(ask: DatesAsk) -> Dates:
    """Return the dates of a plan; what is overdue already has no chance left.

    Raises Wrong, naming the field, for what cannot be planned.
    """
    plan = work_off(ask)
    return Dates(garment_days(ask, plan), tuple(_job(ask, job, plan[job.id]) for job in ask.jobs))


def check_plan(ask: DatesAsk) -> None:
    """Raise Wrong, naming the field, when a plan cannot be worked off."""
    if len(ask.jobs) > MOST_JOBS:
        raise Wrong("jobs", f"at most {MOST_JOBS} jobs can be planned at once, not {len(ask.jobs)}")
    if len(ask.stitchers) > MOST_STITCHERS:
        raise Wrong("stitchers", f"at most {MOST_STITCHERS} stitchers can be planned for, not {len(ask.stitchers)}")
    if ask.start.year > LAST_YEAR:
        raise Wrong("start", f"must not lie beyond the year {LAST_YEAR}")
    weeks: dict[str, tuple[int, float]] = {}
    for place, each in enumerate(ask.stitchers):
        check_stitcher(each, f"stitchers.{place}")
        if each.name in weeks:
            raise Wrong(f"stitchers.{place}.name", f"there are two stitchers called {each.name}")
        weeks[each.name] = place, sum(each.hours)
    known = {job.id for job in ask.jobs}
    if len(known) < len(ask.jobs):
        raise Wrong("jobs", "every job needs an id of its own")
    for place, job in enumerate(ask.jobs):
        _check_hours(job, f"jobs.{place}.hours")
        if job.stitcher not in weeks:
            raise Wrong(f"jobs.{place}.stitcher", f"nobody called {job.stitcher} is among the stitchers")
        if not weeks[job.stitcher][1]:
            where = f"stitchers.{weeks[job.stitcher][0]}.hours"
            raise Wrong(where, f"{job.stitcher} has no hours in any week, so her jobs are never done")
        for earlier in job.after:
            if earlier not in known:
                raise Wrong(f"jobs.{place}.after", f"there is no job {earlier}")


def _check_hours(job: Job, where: str) -> None:
    hours = job.hours
    if isinstance(hours, np.ndarray):
        if hours.shape != (DRAWS,):
            raise Wrong(where, f"needs {DRAWS} draws")
    elif isinstance(hours, Range):
        if not hours.p10 == hours.p50 == hours.p90 == 0:
            above_zero(f"{where}.p10", hours.p10, MOST_HOURS)
            not_below(f"{where}.p50", hours.p50, hours.p10, MOST_HOURS)
            not_below(f"{where}.p90", hours.p90, hours.p50, MOST_HOURS)
    else:
        not_below(where, hours, 0, MOST_HOURS)


def in_order(jobs: Sequence[Job]) -> list[Job]:
    """Return the jobs by due day, none before those that it waits for; equal ones as they were given.

    Raises Wrong when jobs wait for each other in a circle.
    """
    place = {job.id: number for number, job in enumerate(jobs)}
    waits = [[place[name] for name in job.after] for job in jobs]
    waiting: list[list[int]] = [[] for _ in jobs]
    for number, earlier in enumerate(waits):
        for each in earlier:
            waiting[each].append(number)
    due = [job.due or date.max for job in jobs]
    for number in reversed(_one_after_another(jobs, waits, waiting)):
        for each in waits[number]:
            due[each] = min(due[each], due[number])
    left = [len(earlier) for earlier in waits]
    ready = [(due[number], number) for number, many in enumerate(left) if not many]
    heapq.heapify(ready)
    ordered = []
    while ready:
        _, number = heapq.heappop(ready)
        ordered.append(jobs[number])
        for each in waiting[number]:
            left[each] -= 1
            if not left[each]:
                heapq.heappush(ready, (due[each], each))
    return ordered


def _one_after_another(
    jobs: Sequence[Job], waits: Sequence[Sequence[int]], waiting: Sequence[Sequence[int]]
) -> list[int]:
    """Return the places of the jobs, none before those that it waits for."""
    left = [len(earlier) for earlier in waits]
    sequence = [number for number, many in enumerate(left) if not many]
    for number in sequence:  # grows while it is read
        for each in waiting[number]:
            left[each] -= 1
            if not left[each]:
                sequence.append(each)
    if len(sequence) < len(jobs):
        stuck = _in_a_circle(jobs)
        raise Wrong(f"jobs.{stuck}.after", "the jobs wait for each other in a circle")
    return sequence


def _in_a_circle(jobs: Sequence[Job]) -> int:
    """Return the place of a job that waits for itself in the end, when there is one."""
    try:
        TopologicalSorter({job.id: job.after for job in jobs}).prepare()
    except CycleError as circle:
        return next(place for place, job in enumerate(jobs) if job.id == circle.args[1][0])
    raise AssertionError


class Span:
    """A job's part of its stitcher's hours in every draw: `begun` and `ended` count from the plan's start.

    A job with nothing left takes none of them and is done with the last of those that it waits for, `no_work`.
    """

    def __init__(self, hers: Capacity, begun: Array, ended: Array, no_work: Days | None = None) -> None:
        self.hers, self.begun, self.ended = hers, begun, ended
        self._days = no_work

    @property
    def has_work(self) -> bool:
        """Whether there is anything left to do."""
        return self.ended is not self.begun

    @property
    def days(self) -> Days:
        """The day of its end in every draw."""
        if self._days is None:
            self._days = self.hers.done_on(self.ended)
        return self._days

    def likely(self, chances: Sequence[float]) -> list[int]:
        """Return the first days by which it is done with at least these chances."""
        if self.has_work:
            return [self.hers.day_of(hours) for hours in at_least(self.ended, chances)]
        return [int(day) for day in at_least(self.days, chances)]

    def kept(self, due: int) -> NDArray[np.bool_]:
        """Return in which draws it is done by the end of a day."""
        if due < 0:
            return np.zeros(len(self.ended), dtype=np.bool_)
        if self.has_work:
            return np.asarray(self.ended <= self.hers.hours_by(np.array(due)) + DUST, dtype=np.bool_)
        return np.asarray(self.days <= due, dtype=np.bool_)


def work_off(ask: DatesAsk) -> dict[str, Span]:
    """Return every job's span of its stitcher's hours. Raises Wrong for what cannot be planned."""
    check_plan(ask)
    capacities = {each.name: capacity(each, ask.start) for each in ask.stitchers}
    planned = {each.name: _planned_hours(each) for each in ask.stitchers}
    draws = 1 if all(isinstance(job.hours, int | float) for job in ask.jobs) else DRAWS
    clocks = {each.name: np.zeros(draws) for each in ask.stitchers}
    owner = {job.id: job.stitcher for job in ask.jobs}
    spans: dict[str, Span] = {}
    for job in in_order(ask.jobs):
        hers, begun = capacities[job.stitcher], clocks[job.stitcher]
        hours = _needed(job, planned[job.stitcher])
        if hours is None:
            day = np.zeros(draws, dtype=np.intp)
            for earlier in job.after:
                day = np.maximum(day, spans[earlier].days)
            spans[job.id] = Span(hers, begun, begun, day)
            continue
        for earlier in job.after:
            if owner[earlier] != job.stitcher:
                begun = np.maximum(begun, hers.hours_by(spans[earlier].days))
        ended = clocks[job.stitcher] = begun + hours
        spans[job.id] = Span(hers, begun, ended)
    return spans


def _planned_hours(stitcher: Stitcher) -> Array:
    """Return the planned hours that one hour of work takes her, in every draw."""
    luck = scores(("availability", stitcher.name))
    return floats(np.exp(-stitcher.availability.ln_sd * luck) / stitcher.availability.median)


def _needed(job: Job, planned: Array) -> Array | float | None:
    """Return the planned hours that a job takes up; None when nothing is left to do."""
    hours = job.hours
    if isinstance(hours, np.ndarray):
        return hours * planned if hours[0] or hours.any() else None
    if not isinstance(hours, Range):
        return float(hours) or None
    if not hours.p50:
        return None
    luck = scores(("job", job.id))
    up, down = math.log(hours.p90 / hours.p50), math.log(hours.p50 / hours.p10)
    spread = np.where(luck > 0, up, down) / LIKELY_Z
    return floats(hours.p50 * np.exp(spread * luck) * planned)


def garment_days(ask: DatesAsk, plan: Mapping[str, Span]) -> tuple[GarmentDays, ...]:
    """Return the days of every garment of a plan that was worked off.

    Raises Wrong when one is not done within twenty years.
    """
    found = days_found(ask, plan)
    for name, days in found.items():
        if days is None:
            raise Wrong("jobs", f"{name} is not done within twenty years: there is more work than hours")
    return tuple(days for days in found.values() if days is not None)


def days_found(ask: DatesAsk, plan: Mapping[str, Span]) -> dict[str, GarmentDays | None]:
    """Return the days of every garment of a plan, by its name; None for one that is not done within twenty years."""
    garments: dict[str, list[Job]] = {}
    for job in ask.jobs:
        garments.setdefault(job.garment, []).append(job)
    return {name: _garment(ask, name, jobs, plan) for name, jobs in garments.items()}


def _garment(ask: DatesAsk, name: str, jobs: Sequence[Job], plan: Mapping[str, Span]) -> GarmentDays | None:
    waited_for = {earlier for job in jobs for earlier in job.after}
    last = _last([(job.stitcher, plan[job.id]) for job in jobs if job.id not in waited_for])
    if len(last) == 1:
        p50, p80 = last[0].likely((0.5, SURE))
    else:
        days = last[0].days
        for span in last[1:]:
            days = np.maximum(days, span.days)
        p50, p80 = (int(day) for day in at_least(days, (0.5, SURE)))
    if p50 >= HORIZON_DAYS:
        return None
    kept: NDArray[np.bool_] | None = None
    for job in jobs:
        if job.due is not None:
            own = plan[job.id].kept((job.due - ask.start).days)
            kept = own if kept is None else kept & own
    chance = None if kept is None else int(np.count_nonzero(kept)) / len(kept)
    return GarmentDays(name, day_of(ask.start, p50), day_of(ask.start, p80), chance)


def _last(spans: Sequence[tuple[str, Span]]) -> list[Span]:
    """Return the spans that decide when all are done: each stitcher's latest, and those without work of their own."""
    latest: dict[str, Span] = {}
    for stitcher, span in spans:
        if span.has_work and (stitcher not in latest or span.ended[0] > latest[stitcher].ended[0]):
            latest[stitcher] = span
    return [*latest.values(), *(span for _, span in spans if not span.has_work)]


def _job(ask: DatesAsk, job: Job, span: Span) -> JobDays:
    (ends,) = span.likely((0.5,))
    starts = min(ends, span.hers.begun_on(at_least(span.begun, (0.5,))[0]))
    return JobDays(job.id, day_of(ask.start, starts), day_of(ask.start, ends))


def at_least(values: Array | Days, chances: Sequence[float]) -> list[float]:
    """Return the least of the values that as many as these shares do not exceed: days stay days.

    >>> at_least(np.array([5.0, 1.0, 3.0, 2.0]), (0.5, 0.8))
    [2.0, 5.0]
    """
    places = [math.ceil(chance * len(values) - DUST) - 1 for chance in chances]
    parted = np.partition(values, places)
    return [float(parted[place]) for place in places]


def shown_percent(chance: float) -> int:
    """Return a chance as it is shown: a whole percentage from 1 to 99, for nothing is certain.

    >>> shown_percent(1.0), shown_percent(0.0), shown_percent(0.846)
    (99, 1, 85)
    """
    return min(SHOWN_MOST, max(SHOWN_LEAST, math.floor(100 * chance + 0.5)))
