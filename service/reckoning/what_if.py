"""What to put back when not all of one stitcher's work is done by its day."""

import heapq
from collections.abc import Sequence
from dataclasses import dataclass

from service.reckoning.asked import not_below
from service.reckoning.capacity import DUST


@dataclass(frozen=True, slots=True)
class Due:
    """Work of one stitcher: its hours, and the hours that she has until its due day."""

    id: str
    hours: float
    due_hours: float


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
