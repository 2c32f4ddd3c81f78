"""Every line to mark on a panel's flat block, in working order, by mm and by thread.

Sections lie on the block as it is with its tucks made; what is marked is the block before them, so every line is
moved on by what the tucks before it take up. Within one section all lines are counted by whole threads from the
first, so that strips are as many threads wide as planned and a tuck's two sides are alike.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from service.reckoning.asked import above_zero
from service.reckoning.designs import Direction, SectionDesign
from service.reckoning.shapes import Rect
from service.reckoning.tucks import nearest_thread

End = Literal["start", "end"]
System = Literal["warp", "weft"]

ON_THE_THREAD = "on the thread"  # common practice, no source: a line that is drawn, stopped or folded at
DUST_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Stops:
    """The ends of a strip at which a stop line lies; with `chosen_at_the_cloth`, at fewer of them than are named."""

    ends: tuple[End, ...] = ()
    chosen_at_the_cloth: bool = False


NO_STOPS = Stops()


@dataclass(frozen=True, slots=True)
class StripToMark:
    """A band or tuck as it lies on its panel's finished block, in mm.

    `fold_mm` is where a tuck's fold lies, from the block's top or left; `withdraw_threads` are those of one drawn
    strip, None for a plain tuck. `stops` are the ends with a stop line. `folded` says that the work is done
    through two layers; `after_joining` that it is marked when the panels are joined.
    """

    section: str
    direction: Direction
    strip: Rect
    fold_mm: float | None = None
    withdraw_threads: int | None = None
    opening_inside: bool = False
    stops: Stops = NO_STOPS
    folded: bool = False
    hoop: bool = False
    after_joining: bool = False

    @property
    def across_mm(self) -> tuple[float, float]:
        """The strip's two edges across its own direction, the smaller first."""
        return (
            (self.strip.top, self.strip.bottom) if self.direction == "across" else (self.strip.left, self.strip.right)
        )

    @property
    def along_mm(self) -> tuple[float, float]:
        """Where the strip begins and ends along its direction."""
        return (
            (self.strip.left, self.strip.right) if self.direction == "across" else (self.strip.top, self.strip.bottom)
        )


@dataclass(frozen=True, slots=True)
class PanelToMark:
    """A panel's counts and its bands and tucks in working order."""

    warp_per_cm: float
    weft_per_cm: float
    strips: tuple[StripToMark, ...]

    def per_cm(self, direction: Direction) -> float:
        """Threads per cm of the system that runs along lines of that direction."""
        return self.weft_per_cm if direction == "across" else self.warp_per_cm


@dataclass(frozen=True, slots=True)
class MarkLine:
    """One line to mark, from the flat block's top (across) or left edge (down): by mm, and by whole threads.

    `layers` is how many lie under the needle when the line is worked, though it is marked on the single cloth.
    """

    number: int
    section: str
    what: str
    direction: Direction
    at_mm: float
    at_thread: int
    system: System
    layers: int
    hoop: bool
    tolerance: str
    after_joining: bool

    @property
    def edge(self) -> str:
        """The edge of the block that it is measured from."""
        return "top" if self.direction == "across" else "left"


Offset = tuple[str, int]  # a line's words, and its threads from the section's first line


def stops_of(section: SectionDesign, panel: str, stop_lines: int) -> Stops:
    """Return where the stop lines of a band lie on one of its panels.

    A stop line lies where the band ends inside the outline: where it runs out, its threads are drawn out past the
    edge. Where the ends that lie inside are not as many as the stop lines, all that may have one are named.

    >>> from service.reckoning.designs import Placement
    >>> placket = SectionDesign("front.slit", "Slit", "ladder", placements=(Placement("front", "left", 50, to_mm=340),))
    >>> stops_of(placket, "front", 1)
    Stops(ends=('end',), chosen_at_the_cloth=False)
    """
    if not stop_lines or section.closed_round:
        return NO_STOPS
    ends: tuple[tuple[str, End, bool], ...] = tuple(
        found
        for one in section.placements
        for found in ((one.panel, "start", one.from_mm is not None), (one.panel, "end", one.to_mm is not None))
    )
    inside = [(at, end) for at, end, is_inside in ends if is_inside]
    stopped = inside if len(inside) == stop_lines else [(at, end) for at, end, _ in ends]
    here = tuple(end for at, end in stopped if at == panel)
    return Stops(here, chosen_at_the_cloth=bool(here) and len(stopped) > stop_lines)


def lines_to_mark(panel: PanelToMark) -> tuple[MarkLine, ...]:
    """Return every line in working order, numbered; raises Wrong for counts that are none.

    >>> hem = StripToMark("Hem", "across", Rect(10, 50, 90, 53), withdraw_threads=6)
    >>> [(line.at_mm, line.at_thread) for line in lines_to_mark(PanelToMark(20, 20, (hem,)))]
    [(50.0, 100), (53.0, 106)]
    """
    above_zero("warp_per_cm", panel.warp_per_cm)
    above_zero("weft_per_cm", panel.weft_per_cm)
    found = [line for strip in panel.strips for line in _lines(panel, strip)]
    return tuple(replace(line, number=number) for number, line in enumerate(found, start=1))


def flat_mm(panel: PanelToMark, direction: Direction, at_mm: float, span: tuple[float, float] | None = None) -> float:
    """Return where a place on the finished block lies on the flat one, in mm from the same edge.

    `direction` is that of a line through it; with `span`, only tucks that share some of that stretch count.
    """
    return at_mm + sum(
        _take_up_mm(panel, tuck)
        for tuck in panel.strips
        if tuck.fold_mm is not None
        and tuck.direction == direction
        and _base_mm(tuck) < at_mm - DUST_MM
        and (span is None or _share(tuck.along_mm, span))
    )


def _lines(panel: PanelToMark, strip: StripToMark) -> Iterator[MarkLine]:
    per_cm = panel.per_cm(strip.direction)
    first_mm = flat_mm(panel, strip.direction, _first_mm(strip), strip.along_mm)
    first = nearest_thread(first_mm, per_cm)
    for what, threads in _offsets(panel, strip):
        at_mm = round(first_mm + threads * 10 / per_cm, 3)
        yield _line(strip, what, strip.direction, at_mm, first + threads)
    yield from _ends(panel, strip)


def _ends(panel: PanelToMark, strip: StripToMark) -> Iterator[MarkLine]:
    """The stop lines, square to the strip, at the ends that have one."""
    square: Direction = "down" if strip.direction == "across" else "across"
    ends = ("left end", "right end") if square == "down" else ("upper end", "lower end")
    for end, which, at_mm in zip(("start", "end"), ends, strip.along_mm, strict=True):
        if end in strip.stops.ends:
            either = ", or the other end: one stop line" if strip.stops.chosen_at_the_cloth else ""
            flat = flat_mm(panel, square, at_mm, strip.across_mm)
            thread = nearest_thread(flat, panel.per_cm(square))
            yield _line(strip, f"stop line, {which}{either}", square, round(flat, 3), thread)


def _line(strip: StripToMark, what: str, direction: Direction, at_mm: float, thread: int) -> MarkLine:
    system: System = "weft" if direction == "across" else "warp"
    layers = 2 if strip.folded and not what.startswith("stop line") else 1
    return MarkLine(
        0, strip.section, what, direction, at_mm, thread, system, layers, strip.hoop, ON_THE_THREAD, strip.after_joining
    )


def _offsets(panel: PanelToMark, strip: StripToMark) -> Sequence[Offset]:
    first, second = ("upper", "lower") if strip.direction == "across" else ("left", "right")
    drawn = strip.withdraw_threads or 0
    if strip.fold_mm is None:
        return ((f"{first} edge of the drawn strip", 0), (f"{second} edge, {drawn} threads on", drawn))
    depth = _depth_threads(panel, strip)
    if not drawn:
        return (("seam line", 0), ("fold", depth), ("seam line", 2 * depth))
    if strip.opening_inside:
        return (
            ("edge of the drawn strip", 0),
            ("knotted line", drawn),
            ("fold", drawn + depth),
            ("knotted line", drawn + 2 * depth),
            ("edge of the drawn strip", 2 * (drawn + depth)),
        )
    return (
        ("edge of the drawn strip", -drawn),
        ("knotted line", 0),
        ("fold", depth),
        ("knotted line", 2 * depth),
        ("edge of the drawn strip", 2 * depth + drawn),
    )


def _first_mm(strip: StripToMark) -> float:
    return strip.across_mm[0] if strip.fold_mm is None else _base_mm(strip)


def _base_mm(tuck: StripToMark) -> float:
    """Where a tuck begins on the finished block: everything beyond lies further on the flat one."""
    near, far = sorted(tuck.across_mm, key=lambda edge: abs(edge - (tuck.fold_mm or 0)))
    if tuck.withdraw_threads and not tuck.opening_inside:
        return near  # the knotted line; the opening stays outside
    return far


def _depth_threads(panel: PanelToMark, tuck: StripToMark) -> int:
    near, far = sorted(abs(edge - (tuck.fold_mm or 0)) for edge in tuck.across_mm)
    return nearest_thread(near if tuck.withdraw_threads else far, panel.per_cm(tuck.direction))


def _take_up_mm(panel: PanelToMark, tuck: StripToMark) -> float:
    threads = _depth_threads(panel, tuck) + (tuck.withdraw_threads or 0 if tuck.opening_inside else 0)
    return 2 * threads * 10 / panel.per_cm(tuck.direction)


def _share(one: tuple[float, float], other: tuple[float, float]) -> bool:
    return min(one[1], other[1]) - max(one[0], other[0]) > DUST_MM
