"""Where a band stopped, so that another hand finds the next knot, thread or clip: row, number, end it is counted from.

The order of the rows is that of T. de Dillmont, Encyclopedia of Needlework (c. 1890), figs 55-58 and 71: the first
edge, then the second with the work turned (The New Dressmaker, Butterick, 1921, p. 120), then the pairs between them.
"""

from dataclasses import dataclass, field
from itertools import accumulate, pairwise, product
from typing import Literal

from service.reckoning.asked import Wrong, whole
from service.reckoning.band_kinds import BAND_KINDS, TOGETHER, BandKind
from service.reckoning.designs import WorkDirection, one_of

Counted = Literal["bundle", "pair", "knot", "thread", "clip"]
FIRST, SECOND = "first edge", "second edge, work turned"
HALVES = "second edge, work turned: half of one bundle and half of the next"
PAIRS = ("pairs, in the middle of the band", "pairs, first row", "pairs, second row")
BY_TURNS = ("lower edge", "upper edge")
ALONG: dict[str, str] = {"hem_band": "along the hem", "tuck_band": "along the tuck, both layers together"}
_KNOT = {"hem_band": "hem_knot", "alternating": "alternating_knot", "tuck_band": "tuck_knot"}


@dataclass(frozen=True, slots=True)
class BandInHand:
    """A band as far as its order of work goes.

    `sizes` are the standing threads in each bundle, in order along the first edge. `stop_lines` 0 to 2.
    """

    kind: BandKind
    sizes: tuple[int, ...]
    withdrawn_threads: int = 0
    stop_lines: int = 1
    closed_round: bool = False
    pair_rows: int = 1
    work_direction: WorkDirection = "left to right"

    def __post_init__(self) -> None:
        one_of("kind", self.kind, BAND_KINDS)
        one_of("work_direction", self.work_direction, ("left to right", "right to left"))
        whole("stop_lines", self.stop_lines, 0, 2)
        whole("pair_rows", self.pair_rows, 1, 2)
        whole("withdrawn_threads", self.withdrawn_threads, 0)
        for size in self.sizes:
            whole("sizes", size)


@dataclass(frozen=True, slots=True)
class Row:
    """One row of like things to do: its words, and the standing threads that each of its knots takes, in order."""

    words: str
    counted: Counted
    threads: tuple[int, ...]
    by_turns: tuple[str, ...] = field(default=())

    def named(self, at: int) -> str:
        """The words of the row at that knot, counted from 0: a band worked by turns names the edge."""
        return self.by_turns[at % len(self.by_turns)] if self.by_turns else self.words


@dataclass(frozen=True, slots=True)
class Stopped:
    """Where a step stands: the row, the number that comes next of how many in this row (None when all is done).

    `threads` are the standing threads that the next knot takes, 0 for threads and clips. `from_end` is the end from
    which the row is counted, as its edge lies nearest to whoever works it; empty for threads and clips.
    """

    row: str
    counted: Counted
    next_number: int | None
    whole_number: int
    threads: int = 0
    from_end: Literal["left", "right", ""] = ""


def stopped(band: BandInHand, operation: str, done: int) -> Stopped:
    """Return where a band stopped when `done` of that operation's knots, threads or clips are done.

    More than was planned counts as all of it. Raises Wrong for an operation that such a band does not have.

    >>> place = stopped(BandInHand("ladder", (4,) * 24), "ladder_knot", 30)
    >>> place.row, place.counted, place.next_number, place.whole_number, place.threads, place.from_end
    ('second edge, work turned', 'bundle', 7, 24, 4, 'left')
    """
    rows = rows_in_order(band, operation)
    left = whole("done", done, 0)
    for row in rows:
        if left < len(row.threads):
            return Stopped(
                row.named(left), row.counted, left + 1, len(row.threads), row.threads[left], _from(band, row.counted)
            )
        left -= len(row.threads)
    last = rows[-1]
    end = len(last.threads)
    return Stopped(last.named(end - 1), last.counted, None, end, 0, _from(band, last.counted))


def rows_in_order(band: BandInHand, operation: str) -> tuple[Row, ...]:
    """Return the rows that an operation is worked in, in order; every row has something to do.

    Raises Wrong for an operation that no band of that kind is counted in.

    >>> [(row.words, len(row.threads)) for row in rows_in_order(BandInHand("serpentine", (4,) * 12), "ladder_knot")]
    [('first edge', 12), ('second edge, work turned: half of one bundle and half of the next', 13)]
    """
    found = tuple(row for row in _rows(band, operation) if row.threads)
    if not found:
        raise Wrong("operation", f"is no work that a {band.kind} is counted in: {operation!r}")
    return found


def _rows(band: BandInHand, operation: str) -> tuple[Row, ...]:
    if operation == "withdraw":
        strips = ("first strip", "second strip") if band.kind == "tuck_band" else ("from the first edge on",)
        return tuple(Row(words, "thread", (0,) * band.withdrawn_threads) for words in strips)
    if operation == "clip":
        return tuple(Row(words, "clip", (0,) * band.withdrawn_threads) for words in _places_to_clip(band))
    again = TOGETHER.get(band.kind)
    if again and operation == again.knot:
        ends = range(again.bundles, len(band.sizes) + 1, again.bundles)
        gathered = tuple(sum(band.sizes[end - again.bundles : end]) for end in ends)
        return tuple(Row(words, "pair", gathered) for words in (PAIRS[:1] if band.pair_rows == 1 else PAIRS[1:]))
    if operation != _KNOT.get(band.kind, "ladder_knot"):
        return ()
    return _rows_of_edges(band)


def _rows_of_edges(band: BandInHand) -> tuple[Row, ...]:
    if band.kind in ALONG:
        return (Row(ALONG[band.kind], "bundle", band.sizes),)
    if band.kind == "alternating":
        return (Row("", "bundle", band.sizes, BY_TURNS),)
    first = Row(FIRST, "bundle", band.sizes)
    if band.kind == "serpentine":
        return first, Row(HALVES, "knot", _halves(band))
    return first, Row(SECOND, "bundle", band.sizes[::-1])


def _halves(band: BandInHand) -> tuple[int, ...]:
    """The threads of the split edge's knots, from its far end: open, a half alone at either end."""
    starts = tuple(accumulate(band.sizes, initial=0))
    if not band.sizes:
        return ()
    middles = tuple((start + end) // 2 for start, end in pairwise(starts))
    closed, opened = (*middles, starts[-1] + middles[0]), (0, *middles, starts[-1])
    edges = closed if band.closed_round else opened
    return tuple(end - start for start, end in pairwise(edges))[::-1]


def _places_to_clip(band: BandInHand) -> tuple[str, ...]:
    if band.closed_round:
        ends: tuple[str, ...] = ("once a thread",)
    else:
        ends = ((), ("at the stop line",), ("at one stop line", "at the other stop line"))[band.stop_lines]
    strips = ("first strip, ", "second strip, ") if band.kind == "tuck_band" else ("",)
    return tuple(f"{strip}{end}" for strip, end in product(strips, ends))


def _from(band: BandInHand, counted: Counted) -> Literal["left", "right", ""]:
    if counted in {"thread", "clip"}:
        return ""
    return "right" if band.work_direction == "right to left" else "left"
