"""The rows of knots a band is worked in, and which of them are tied: where each standing thread is pinched.

A row ties groups of neighbouring threads; a thread runs from the band's first edge to its second, drawn together
at every knot that is tied. The first edge is the one worked first, drawn below (a hem hangs below its band). The
second edge is worked with the work turned, so its knots begin at the other end
(Butterick, The New Dressmaker, 1921, p. 120).
"""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

from service.reckoning.asked import Wrong
from service.reckoning.band_kinds import TOGETHER

FIRST_EDGE, SECOND_EDGE = 0.94, 0.06  # how far down the band an edge's knots lie, as a part of its width
MIDDLE = 0.5
TWO_ROWS = (0.64, 0.36)
_KNOTS = {
    "hem_band": "hem_knot",
    "ladder": "ladder_knot",
    "ladder_paired": "ladder_knot",
    "serpentine": "ladder_knot",
    "alternating": "alternating_knot",
    "tuck_band": "tuck_knot",
}


@dataclass(frozen=True, slots=True)
class Row:
    """One row of knots: knot g ties the threads from `edges[g]` up to `edges[g + 1]`.

    `depths` are how far down the band its knots lie, by turns. `turned` says that it is worked from the far end.
    `wraps` says that the last knot of a round reaches over to the first threads.
    """

    operation: str
    edges: tuple[int, ...]
    depths: tuple[float, ...]
    turned: bool = False
    wraps: bool = False

    @property
    def knots(self) -> int:
        """How many knots it has."""
        return len(self.edges) - 1

    def depth(self, knot: int) -> float:
        """How far down the band that knot lies, as a part of its width."""
        return self.depths[knot % len(self.depths)]

    def is_tied(self, knot: int, done: int) -> bool:
        """Whether that knot is among the first `done` worked."""
        return (self.knots - 1 - knot if self.turned else knot) < done

    def next_knot(self, done: int) -> int:
        """The knot to work when `done` are tied."""
        at = min(done, self.knots - 1)
        return self.knots - 1 - at if self.turned else at

    def knot_of(self, thread: int) -> tuple[int, float] | None:
        """The knot that ties a thread, and the middle of its threads; None for a thread no knot ties."""
        if self.wraps and thread < self.edges[0]:
            return self.knots - 1, 0.0
        if not self.edges[0] <= thread < self.edges[-1]:
            return None
        knot = bisect_right(self.edges, thread) - 1
        return knot, (self.edges[knot] + self.edges[knot + 1]) / 2


@dataclass(frozen=True, slots=True)
class Tied:
    """A row and how many of its knots are tied."""

    row: Row
    done: int


def rows_of(kind: str, sizes: Sequence[int], *, pair_rows: int = 1, closed_round: bool = False) -> tuple[Row, ...]:
    """Return the rows of knots of a band with bundles of those sizes, in the order they are worked.

    >>> [(row.operation, row.knots) for row in rows_of("serpentine", (4, 4, 4))]
    [('ladder_knot', 3), ('ladder_knot', 4)]
    """
    if kind not in _KNOTS:
        raise Wrong("kind", f"{kind!r} is not a kind of band")
    starts = tuple(accumulate(sizes, initial=0))
    knot = _KNOTS[kind]
    if kind in {"hem_band", "tuck_band"}:
        return (Row(knot, starts, (FIRST_EDGE,)),)
    if kind == "alternating":
        return (Row(knot, starts, (FIRST_EDGE, SECOND_EDGE)),)
    first = Row(knot, starts, (FIRST_EDGE,))
    if kind == "serpentine":
        return first, _split_row(knot, starts, closed_round=closed_round)
    second = Row(knot, starts, (SECOND_EDGE,), turned=True)
    if kind not in TOGETHER:
        return first, second
    again = TOGETHER[kind]
    groups = starts[:: again.bundles]
    depths = (MIDDLE,) if pair_rows == 1 else TWO_ROWS
    gathered = tuple(Row(again.knot, groups, (depth,)) for depth in depths) if len(groups) > 1 else ()
    return first, second, *gathered


def tied(rows: Sequence[Row], operation: str, done: int) -> tuple[Tied, ...]:
    """Return how far each row is tied when `done` knots of that operation are: the rows before it are complete.

    >>> [row.done for row in tied(rows_of("ladder_paired", (4,) * 6), "pair_knot", 2)]
    [6, 6, 2]
    """
    found: list[Tied] = []
    left = done
    begun = False
    for row in rows:
        if row.operation == operation:
            begun = True
            found.append(Tied(row, min(left, row.knots)))
            left -= found[-1].done
        else:
            found.append(Tied(row, 0 if begun else row.knots))
    return tuple(found)


def tied_by_fraction(rows: Sequence[Row], fraction: float) -> tuple[Tied, ...]:
    """Return how far each row is tied when that fraction of all knots is, none only at 0 and all only at 1.

    >>> [row.done for row in tied_by_fraction(rows_of("ladder", (4,) * 10), 0.75)]
    [10, 5]
    """
    every = sum(row.knots for row in rows)
    left = part_of(every, fraction)
    found = []
    for row in rows:
        found.append(Tied(row, min(left, row.knots)))
        left -= found[-1].done
    return tuple(found)


def part_of(whole: int, fraction: float) -> int:
    """Return a fraction of a whole number, so that begun work shows and unfinished work is not full.

    >>> part_of(10, 0.01), part_of(10, 0.999), part_of(1, 0.5)
    (1, 9, 0)
    """
    if fraction <= 0 or fraction >= 1:
        return whole if fraction >= 1 else 0
    return min(max(round(whole * fraction), 1), whole - 1)


def _split_row(knot: str, starts: tuple[int, ...], *, closed_round: bool) -> Row:
    """The second edge of a serpentine: half of one bundle and half of the next; open, a half at either end."""
    halves = tuple((start + end) // 2 for start, end in pairwise(starts))
    if closed_round:
        return Row(knot, (*halves, starts[-1] + halves[0]), (SECOND_EDGE,), turned=True, wraps=True)
    return Row(knot, (0, *halves, starts[-1]), (SECOND_EDGE,), turned=True)
