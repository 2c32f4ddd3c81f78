"""Work along a line or at a point: tucks, bindings, seams, lace, motifs and closures, open or done."""

import math
from itertools import pairwise

from service.drawing.bands import Fineness, Stretch
from service.drawing.pen import Pen
from service.drawing.rows import part_of
from service.drawing.shown import ShownSection
from service.drawing.svg import box, mark, path, short
from service.reckoning.outlines import length_of
from service.reckoning.shapes import Point

Line = tuple[Point, ...]


def at_length(line: Line, length: float) -> Point:
    """Return the point that lies a length along a line.

    >>> at_length(((0, 0), (10, 0), (10, 10)), 15)
    (10.0, 5.0)
    """
    left = length
    for a, b in pairwise(line):
        piece = math.dist(a, b)
        if left <= piece and piece:
            return a[0] + (b[0] - a[0]) * left / piece, a[1] + (b[1] - a[1]) * left / piece
        left -= piece
    return line[-1]


def split(line: Line, fraction: float) -> tuple[Line, Line]:
    """Return a line cut in two at a fraction of its length; a part without length is empty.

    >>> split(((0, 0), (10, 0)), 0.25)
    (((0, 0), (2.5, 0.0)), ((2.5, 0.0), (10, 0)))
    """
    if fraction <= 0 or fraction >= 1:
        return (line, ()) if fraction >= 1 else ((), line)
    cut = length_of(line) * fraction
    at = at_length(line, cut)
    walked, before = 0.0, [line[0]]
    for a, b in pairwise(line):
        walked += math.dist(a, b)
        if walked >= cut:
            break
        before.append(b)
    return (*before, at), (at, *line[len(before) :])


def worked(line: Line, section: ShownSection) -> tuple[Line, Line]:
    """Return the done and the open part of a section's line."""
    if section.worked_from == "start":
        return split(line, section.done_fraction)
    rest, done = split(line, 1 - section.done_fraction)
    return done, rest


def line_marks(section: ShownSection, fine: Fineness) -> str:
    """Return the lines of a binding, seam or lace."""
    draw = {"binding": _binding, "lace": _lace}.get(section.kind, _seam)
    return "".join(draw(line, section, fine) for line in section.place.lines if len(line) > 1)


def point_marks(section: ShownSection, fine: Fineness) -> str:
    """Return motifs as small flowers and closures as buttons: filled when done, in order."""
    points = section.place.points
    done = part_of(len(points), section.done_fraction)
    apart = min((math.dist(a, b) for a, b in pairwise(points)), default=math.inf)
    size = min(7 * fine.unit_mm, 0.46 * apart)
    draw = _flowers if section.kind == "motif" else _buttons
    return draw(points[:done], size, "d-fill") + draw(points[done:], size, "d-open")


def tuck_marks(lie: Stretch, section: ShownSection, fine: Fineness) -> str:
    """Return a tuck: its fold a firm line, its stitching open or done."""
    fold, stitched = (lie.top, lie.bottom) if lie.flipped else (lie.bottom, lie.top)
    done, rest = worked(_laid(lie, stitched), section)
    edge = path("d-edge", _drawn(_laid(lie, fold), fine))
    return box("d-hem", lie.rect) + edge + _stitches(done, rest, fine, min(fine.unit_mm, lie.width / 4))


def _laid(lie: Stretch, across: float) -> Line:
    ends = ((lie.start, across), (lie.start + lie.length, across))
    return tuple((y, x) for x, y in ends) if lie.turned else ends


def _drawn(line: Line, fine: Fineness) -> str:
    if not line:
        return ""
    pen = Pen(places=fine.places)
    pen.run(line)
    return pen.d


def _binding(line: Line, section: ShownSection, fine: Fineness) -> str:
    done, rest = (_drawn(part, fine) for part in worked(line, section))
    width = 3.4 * fine.unit_mm
    open_part = path("d-bind", rest, stroke_width=width) + path("d-bare", rest, stroke_width=0.5 * width)
    return open_part + path("d-bound", done, stroke_width=width)


def _seam(line: Line, section: ShownSection, fine: Fineness) -> str:
    return _stitches(*worked(line, section), fine, fine.unit_mm)


def _stitches(done: Line, rest: Line, fine: Fineness, unit: float) -> str:
    """Running stitches: open ones fine and far apart, done ones firm and close."""
    far, close = (f"{short(on * unit)} {short(off * unit)}" for on, off in ((1.6, 3), (4, 1.2)))
    open_ones = path("d-bind", _drawn(rest, fine), stroke_width=0.9 * unit, stroke_dasharray=far)
    return open_ones + path("d-bound", _drawn(done, fine), stroke_width=1.8 * unit, stroke_dasharray=close)


def _lace(line: Line, section: ShownSection, fine: Fineness) -> str:
    """Scallops on the outer side, the left hand of the line as its outline runs clockwise."""
    length = length_of(line)
    scallops = max(1, round(length / (9 * fine.unit_mm)))
    done = part_of(scallops, section.done_fraction)
    first = 0 if section.worked_from == "start" else scallops - done
    open_ones, done_ones = (Pen(places=fine.places) for _ in range(2))
    for at in range(scallops):
        pen = done_ones if first <= at < first + done else open_ones
        a, b = (at_length(line, length * end / scallops) for end in (at, at + 1))
        out = (0.9 * (b[1] - a[1]), 0.9 * (a[0] - b[0]))
        pen.move(*a)
        pen.bend(((a[0] + b[0]) / 2 + out[0], (a[1] + b[1]) / 2 + out[1]), b)
    return path("d-open", open_ones.d) + path("d-fill", done_ones.d)


def _flowers(points: Line, size: float, ink: str) -> str:
    """Flowers of five petals, their tips `size` from the middle."""
    pen = Pen()
    for point in points:
        for petal in range(5):
            turn = math.tau * petal / 5 - math.pi / 2
            pen.move(*point)
            pen.bend(_off(point, turn - 0.62, 1.06 * size), _off(point, turn, size))
            pen.bend(_off(point, turn + 0.62, 1.06 * size), point)
    return path(ink, pen.d)


def _buttons(points: Line, size: float, ink: str) -> str:
    """Buttons with two holes."""
    discs = "".join(mark("circle", ink, cx=x, cy=y, r=size / 2) for x, y in points)
    holes = Pen()
    for x, y in points:
        for side in (-size / 7, size / 7):
            holes.move(x + side, y)
            holes.line(x + side + 0.1, y)
    return discs + path(
        "d-bare" if ink == "d-fill" else "d-knot", holes.d, stroke_width=size / 5, stroke_linecap="round"
    )


def _off(point: Point, turn: float, length: float) -> Point:
    return point[0] + math.cos(turn) * length, point[1] + math.sin(turn) * length
