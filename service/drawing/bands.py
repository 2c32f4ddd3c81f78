"""Bands on a panel: standing threads from edge to edge, drawn together where they are knotted.

A band is far narrower than a garment is wide, and its bundles are finer still. So a strip has a least width and a
least distance from bundle to bundle: below them it is drawn wider, and one drawn bundle stands for several.
"""

from dataclasses import dataclass
from itertools import pairwise

from service.drawing.pen import Pen
from service.drawing.rows import Row, Tied, part_of, rows_of, tied_by_fraction
from service.drawing.shown import ShownSection
from service.drawing.svg import box, path
from service.reckoning.designs import Direction
from service.reckoning.shapes import Rect

THREADS_DRAWN = 2  # of each bundle
DRAWN_TOGETHER = 0.13  # how far apart they lie in a knot, as a part of their distance in the cloth


@dataclass(frozen=True, slots=True)
class Fineness:
    """The least that can be drawn, in mm: from bundle to bundle, and across a strip.

    `unit_mm` is about one px on a phone; `places` are the decimals of a mm that are worth writing.
    """

    pitch_mm: float
    width_mm: float
    unit_mm: float
    places: int = 1


@dataclass(frozen=True, slots=True)
class Stretch:
    """A strip laid along its own length: from `start`, so long, `top` its upper or left edge, so wide; all in mm.

    `flipped` says that its first edge (a hem's) is the upper or left one.
    """

    direction: Direction
    start: float
    length: float
    top: float
    width: float
    flipped: bool = False

    @property
    def turned(self) -> bool:
        """Whether it runs down the cloth."""
        return self.direction == "down"

    @property
    def bottom(self) -> float:
        """Its lower or right edge."""
        return self.top + self.width

    @property
    def rect(self) -> Rect:
        """The rectangle it covers on the block."""
        along, across = (self.start, self.start + self.length), (self.top, self.bottom)
        (left, right), (top, bottom) = (across, along) if self.turned else (along, across)
        return Rect(left, top, right, bottom)

    def depth(self, part: float) -> float:
        """How far down the block a part of its width lies, from the second edge to the first."""
        return self.top + self.width * (1 - part if self.flipped else part)


def stretch(strip: Rect, direction: Direction, width_mm: float, *, flipped: bool = False) -> Stretch:
    """Return the strip about its own middle line, `width_mm` wide.

    >>> stretch(Rect(10, 100, 210, 106), "across", 10).rect
    Rect(left=10, top=98.0, right=210, bottom=108.0)
    """
    if direction == "across":
        start, end, near, far = strip.left, strip.right, strip.top, strip.bottom
    else:
        start, end, near, far = strip.top, strip.bottom, strip.left, strip.right
    return Stretch(direction, start, end - start, (near + far - width_mm) / 2, width_mm, flipped)


def bundles_drawn(bundles: int, length_mm: float, pitch_mm: float) -> int:
    """Return how many bundles to draw: every one if there is room, else as many as there is room for.

    >>> bundles_drawn(96, 384, 2), bundles_drawn(96, 384, 8)
    (96, 48)
    """
    return max(1, min(bundles, int(length_mm / pitch_mm + 1e-6)))


def pinched_band(lie: Stretch, section: ShownSection, fine: Fineness) -> str:
    """Return a band as its sign: done bundles pinched at the waist and knotted, the others open threads."""
    drawn = bundles_drawn(section.bundles, lie.length, fine.pitch_mm)
    done = part_of(drawn, section.done_fraction)
    first = 0 if section.worked_from == "start" else drawn - done
    pitch = lie.length / drawn
    loose, together = (Pen(places=fine.places, turned=lie.turned) for _ in range(2))
    straight, left_half, right_half = _bundle_shapes(loose, pitch, lie.width)
    for at in range(drawn):
        left = lie.start + at * pitch
        if first <= at < first + done:
            together.stamp(left + 0.16 * pitch, lie.top, left_half)
            together.stamp(left + 0.84 * pitch, lie.top, right_half)
        else:
            loose.stamp(left + 0.25 * pitch, lie.top, straight)
            loose.stamp(left + 0.75 * pitch, lie.top, straight)
    waist = _waist(lie, lie.start + (first + 0.5) * pitch, done, pitch)
    return _ground(lie, fine) + path("d-thread", loose.d) + path("d-done", together.d) + waist


def knotted_band(lie: Stretch, section: ShownSection, fine: Fineness) -> str:
    """Return a band as it looks: each drawn thread pinched at the knots its kind has, where they are tied."""
    drawn = bundles_drawn(section.bundles, lie.length, fine.pitch_mm)
    sizes = (THREADS_DRAWN,) * drawn
    rows = rows_of(section.kind, sizes, pair_rows=section.pair_rows, closed_round=section.closed_round)
    state = tied_by_fraction(rows, section.done_fraction)
    weave = Weave(lie, lie.length / drawn / THREADS_DRAWN, mirrored=section.worked_from == "end")
    loose, together = (Pen(places=fine.places, turned=lie.turned) for _ in range(2))
    for thread in range(drawn * THREADS_DRAWN):
        way = weave.way(thread, state)
        draw_thread(together if len(way) > 2 else loose, way)
    knots = "".join(_knots(weave, row) for row in state)
    return _ground(lie, fine) + path("d-thread", loose.d) + path("d-done", together.d) + knots


@dataclass(frozen=True, slots=True)
class Weave:
    """Where a strip's standing threads lie: `pitch` from thread to thread; `mirrored` counts them from the far end."""

    lie: Stretch
    pitch: float
    mirrored: bool = False

    def along(self, threads: float) -> float:
        """How far along the block a distance in threads from the work's beginning lies."""
        run = threads * self.pitch
        return self.lie.start + (self.lie.length - run if self.mirrored else run)

    def way(self, thread: int, state: tuple[Tied, ...]) -> list[tuple[float, float]]:
        """The points a thread passes, from its second edge to its first: its place in the cloth, and its knots."""
        own = thread + 0.5
        ties = []
        for row in state:
            found = row.row.knot_of(thread)
            if found and row.row.is_tied(found[0], row.done):
                at = found[1] + (own - found[1]) * DRAWN_TOGETHER
                ties.append((row.row.depth(found[0]), self.along(at)))
        ends = (self.along(own), self.lie.depth(0)), (self.along(own), self.lie.depth(1))
        return [ends[0], *((at, self.lie.depth(part)) for part, at in sorted(ties)), ends[1]]


def draw_thread(pen: Pen, way: list[tuple[float, float]]) -> None:
    """Draw one thread through its points, leaving and meeting every knot along the thread."""
    pen.move(*way[0])
    for (x, y), (to_x, to_y) in pairwise(way):
        if abs(to_x - x) < 1e-9:
            pen.line(to_x, to_y)
        else:
            half = (y + to_y) / 2
            pen.sway((x, half), (to_x, half), (to_x, to_y))


def _ground(lie: Stretch, fine: Fineness) -> str:
    pen = Pen(places=fine.places, turned=lie.turned)
    for across in (lie.top, lie.bottom):
        pen.move(lie.start, across)
        pen.line(lie.start + lie.length, across)
    return box("d-gap", lie.rect) + path("d-edge", pen.d)


def _bundle_shapes(pen: Pen, pitch: float, width: float) -> tuple[Pen, Pen, Pen]:
    """An open thread, and the two outer threads of a bundle drawn together at its waist."""
    straight, left, right = (pen.shape() for _ in range(3))
    straight.line(0, width)
    left.bend((0.58 * pitch, width / 2), (0, width))
    right.bend((-0.58 * pitch, width / 2), (0, width))
    return straight, left, right


def _waist(lie: Stretch, first: float, knots: int, pitch: float) -> str:
    """A round dot at every waist: one dotted line, its dots a bundle apart."""
    if not knots:
        return ""
    pen = Pen(places=2, turned=lie.turned)
    half = lie.top + lie.width / 2
    pen.move(first, half)
    pen.line(first + (knots - 0.6) * pitch, half)
    size = min(0.5 * pitch, 0.36 * lie.width)
    return path("d-knot", pen.d, stroke_width=size, stroke_dasharray=f"0 {pitch:.3f}")


def _knots(weave: Weave, state: Tied) -> str:
    pen = Pen(places=2, turned=weave.lie.turned)
    row: Row = state.row
    for knot in range(row.knots):
        if row.is_tied(knot, state.done) and row.edges[knot] < row.edges[knot + 1]:
            at = weave.along((row.edges[knot] + row.edges[knot + 1]) / 2)
            depth = weave.lie.depth(row.depth(knot))
            half = weave.pitch * THREADS_DRAWN * 0.14
            pen.move(at - half, depth)
            pen.line(at + half, depth)
    return path("d-knot", pen.d, stroke_width=min(weave.pitch * 0.7, 0.2 * weave.lie.width))
