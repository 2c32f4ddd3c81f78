"""Needles and pins at a piece: what is out by the counts of one person, and what is still not in again."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class Sharps:
    """So many needles and pins."""

    needles: int = 0
    pins: int = 0

    def __bool__(self) -> bool:
        """Whether there are any."""
        return bool(self.needles or self.pins)

    def __add__(self, more: "Sharps") -> "Sharps":
        """Both together."""
        return Sharps(self.needles + more.needles, self.pins + more.pins)

    def less(self, gone: "Sharps") -> "Sharps":
        """What is left without these, never below none.

        >>> Sharps(3, 12).less(Sharps(2, 14))
        Sharps(needles=1, pins=0)
        """
        return Sharps(max(0, self.needles - gone.needles), max(0, self.pins - gone.pins))

    def at_least(self, other: "Sharps") -> "Sharps":
        """The more of each."""
        return Sharps(max(self.needles, other.needles), max(self.pins, other.pins))


@dataclass(frozen=True, slots=True)
class SharpsCount:
    """One count of one person at one garment, in the order of counting.

    `out` at the start of a sitting, `in` at its end; `with the piece` is what a handover leaves out in her name.
    """

    way: Literal["out", "in", "with the piece"]
    counted: Sharps


@dataclass(frozen=True, slots=True)
class SharpsOut:
    """What one person has out: all of it, what of it came with the piece, and what was counted in since, if anything.

    `missing` is what an earlier sitting left short.
    """

    whole: Sharps = Sharps()
    with_the_piece: Sharps = Sharps()
    missing: Sharps = Sharps()
    came_in: Sharps | None = None

    @property
    def open(self) -> Sharps:
        """What is not counted in."""
        return self.whole.less(self.came_in or Sharps())


def sharps_out(counts: Iterable[SharpsCount]) -> SharpsOut:
    """Return what is out after these counts (common practice, no source: what was counted out is out until counted in).

    A count the same way corrects the one before, but no count out makes fewer of what came with the piece, and none
    forgets what an earlier sitting left missing: that stays out beside the new count.

    >>> out, back = SharpsCount("out", Sharps(3, 12)), SharpsCount("in", Sharps(2, 12))
    >>> sharps_out([out, back]).open, sharps_out([out, back, SharpsCount("out", Sharps(2, 0))]).open
    (Sharps(needles=1, pins=0), Sharps(needles=3, pins=0))
    >>> sharps_out([SharpsCount("with the piece", Sharps(2, 12)), SharpsCount("out", Sharps(1, 0))]).open
    Sharps(needles=2, pins=12)
    """
    now = SharpsOut()
    for count in counts:
        now = _after(now, count)
    return now


def _after(now: SharpsOut, count: SharpsCount) -> SharpsOut:
    if count.way == "in":
        return SharpsOut(now.whole, now.with_the_piece, now.missing, count.counted)
    if count.way == "with the piece":
        return SharpsOut(count.counted, count.counted)
    if now.came_in is not None:
        return SharpsOut(count.counted + now.open, Sharps(), now.open)
    return SharpsOut(count.counted.at_least(now.with_the_piece) + now.missing, now.with_the_piece, now.missing)
