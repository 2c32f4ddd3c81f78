"""The garment small, for one row of a ledger: outlines, its bands as bars, a pin where a hand is needed."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from service.drawing.lines import Line, worked
from service.drawing.panels import place_reached
from service.drawing.pen import Pen
from service.drawing.shown import ShownPanel, ShownSection
from service.drawing.standing import Standing, shown_sides, side_by_side
from service.drawing.svg import Picture, drawn, mark, path
from service.drawing.telling import each_once, told_in_short
from service.reckoning.shapes import Point, Rect

WIDTH = 200  # units; whole numbers are fine enough
BAR, LINE = 5.5, 3.5
LEAST_STEP = 2.2  # points of an outline closer than this are left out


@dataclass(frozen=True, slots=True)
class Small:
    """From mm in the drawing to the thumbnail's units."""

    scale: float

    def line(self, one: Standing, line: Iterable[Point]) -> Line:
        """A line on a panel's block, in units."""
        return tuple(((x + one.dx) * self.scale, (y + one.dy) * self.scale) for x, y in line)


def thumbnail(panels: Sequence[ShownPanel], name: str, prefix: str = "thumb") -> str:
    """Return the small drawing as SVG; raises Wrong when there is no panel."""
    layout = side_by_side(panels)
    small = Small(WIDTH / layout.view.width)
    outlines, bars, lines = Pen(places=0), Bars(), Bars()
    pins = ""
    for one in layout.panels:
        outlines.run(_fewer(small.line(one, one.panel.outline)), closed=True)
        for section in one.panel.sections:
            for line in _middles(section):
                (bars if section.place.strips else lines).add(section, small.line(one, line))
            pins += _pin(section, one, small)
    view = layout.view
    room = Rect(*(side * small.scale for side in (view.left, view.top, view.right, view.bottom)))
    body = path("d-piece", outlines.d) + lines.marks(LINE, "2 2") + bars.marks(BAR, "1 2") + pins
    return drawn(Picture(room, shown_sides(name, layout), told_in_short(each_once(panels)), prefix, "thumb", 1), body)


class Bars:
    """Two paths gathered section by section: what is done, and what is open."""

    def __init__(self) -> None:
        self._done = Pen(places=0)
        self._open = Pen(places=0)

    def add(self, section: ShownSection, line: Line) -> None:
        """Add one section's line, cut where it is done."""
        done, rest = worked(line, section)
        for pen, part in ((self._done, done), (self._open, rest)):
            if len(part) > 1:
                pen.run(_fewer(part))

    def marks(self, width: float, dashes: str) -> str:
        """Return the done part as a full line, the open part as dashes: standing threads."""
        rest = path("d-bind", self._open.d, stroke_width=width, stroke_dasharray=dashes)
        return rest + path("d-bound", self._done.d, stroke_width=width)


def _middles(section: ShownSection) -> tuple[Line, ...]:
    """The middle line of each strip, or the section's own lines; seams are left out."""
    if section.place.strips:
        return tuple(_middle(strip, down=section.direction == "down") for strip in section.place.strips)
    return () if section.kind == "seam" else section.place.lines


def _middle(strip: Rect, *, down: bool) -> Line:
    if down:
        half = (strip.left + strip.right) / 2
        return (half, strip.top), (half, strip.bottom)
    half = (strip.top + strip.bottom) / 2
    return (strip.left, half), (strip.right, half)


def _fewer(line: Line) -> Line:
    """The line without points too close together to tell apart; its ends stay."""
    kept = [line[0]]
    for point in line[1:-1]:
        if abs(point[0] - kept[-1][0]) + abs(point[1] - kept[-1][1]) >= LEAST_STEP:
            kept.append(point)
    return (*kept, line[-1])


def _pin(section: ShownSection, one: Standing, small: Small) -> str:
    if not section.needs_hand:
        return ""
    ((x, y),) = small.line(one, (place_reached(section),))
    pen = Pen(places=0)
    pen.run(((x, y), (x + 8, y - 14)))
    head = mark("circle", "d-here-fill", cx=round(x + 8), cy=round(y - 14), r=5)
    return path("d-here", pen.d, stroke_width=2.4) + head
