"""What if: the same draws planned another way, before and after side by side; and what to put back when all is late."""

import heapq
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from service.reckoning.asked import Wrong, not_below
from service.reckoning.capacity import DUST
from service.reckoning.dates import Array, DatesAsk, GarmentDays, Job, days_found, work_off
from service.reckoning.paces import Range


@dataclass(frozen=True, slots=True, eq=False)
class Move:
    """Another stitcher takes a job; `hours` are what it takes her."""

    job: str
    stitcher: str
    hours: float | Range | Array


@dataclass(frozen=True, slots=True)
class Change:
    """A garment's days before and after; None before for a garment that is new, after for one that is gone."""

    garment: str
    before: GarmentDays | None
    after: GarmentDays | None


@dataclass(frozen=True, slots=True, eq=False)
class Moved:
    """What a move does to every garment whose days or chance it changes."""

    move: Move
    changes: tuple[Change, ...]


@dataclass(frozen=True, slots=True)
class Due:
    """Work of one stitcher: its hours, and the hours that she has until its due day."""

    id: str
    hours: float
    due_hours: float


def days_by_garment(ask: DatesAsk) -> dict[str, GarmentDays]:
    """Return the days of every garment of a plan, by name; what is not done within twenty years is left out.

    Raises Wrong for what cannot be planned.
    """
    found = days_found(ask, work_off(ask))
    return {name: days for name, days in found.items() if days is not None}


def changes(before: Mapping[str, GarmentDays], after: Mapping[str, GarmentDays]) -> tuple[Change, ...]:
    """Return the garments whose days or chance differ between two plans."""
    names = dict.fromkeys([*before, *after])
    both = (Change(name, before.get(name), after.get(name)) for name in names)
    return tuple(each for each in both if each.before != each.after)


def moved(ask: DatesAsk, move: Move) -> DatesAsk:
    """Return the plan with a job in another stitcher's hands. Raises Wrong when there is no such job."""
    if all(job.id != move.job for job in ask.jobs):
        raise Wrong("job", f"there is no job {move.job}")
    return replace(ask, jobs=tuple(_with(job, move) for job in ask.jobs))


def _with(job: Job, move: Move) -> Job:
    return replace(job, stitcher=move.stitcher, hours=move.hours) if job.id == move.job else job


def moves_best_first(ask: DatesAsk, moves: Sequence[Move], garment: str) -> list[Moved]:
    """Try every move by itself; first the one that gives this garment the best chance, of equals the earliest day."""
    before = days_by_garment(ask)
    if all(job.garment != garment for job in ask.jobs):
        raise Wrong("garment", f"there is no garment {garment} in the plan")
    tried = []
    for place, move in enumerate(moves):
        after = days_by_garment(moved(ask, move))
        its = after.get(garment)
        chance, sure = (its.chance_in_time or 0.0, its.p80) if its else (0.0, date.max)
        tried.append((-chance, sure, place, Moved(move, changes(before, after))))
    return [each for *_, each in sorted(tried, key=lambda one: one[:3])]


def fewest_late(work: Sequence[Due]) -> tuple[str, ...]:
    """Return the least work to put back so that all the rest of one stitcher's is done by its day.

    Moore (1968), in the simpler form that he credits to Hodgson: by due day, and whenever a piece comes out late the
    longest so far is put back. In the order in which the work was given.

    >>> fewest_late([Due("bib", 2, 3), Due("gown", 30, 20), Due("cap", 4, 8)])
    ('gown',)
    """
    for place, each in enumerate(work):
        not_below(f"work.{place}.hours", each.hours)
    spent = 0.0
    kept: list[tuple[float, int]] = []
    back: set[int] = set()
    for place, each in sorted(enumerate(work), key=lambda one: one[1].due_hours):
        heapq.heappush(kept, (-each.hours, place))
        spent += each.hours
        if spent > each.due_hours + DUST:
            longest, gone = heapq.heappop(kept)
            spent += longest
            back.add(gone)
    return tuple(each.id for place, each in enumerate(work) if place in back)
