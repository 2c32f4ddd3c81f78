"""Sections placed on their panels: strips clipped to the pattern's outline, lines along it, points inside it.

A strip's standing threads must stand through its whole width, so its length is the shortest chord of the
outline within it: where the outline narrows inside the band, the threads cut by the outline are not counted.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

from service.reckoning.designs import Direction, Edge, Placement
from service.reckoning.findings import Finding
from service.reckoning.outlines import cloth_inside, cloth_to_the_edge, extent, line_along
from service.reckoning.path_text import line_of
from service.reckoning.shapes import Place, Point, Rect

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

DUST_MM = 1e-6
SHORTEST_MM = 0.01
PENCIL_MM = 0.05  # nobody draws an outline more truly
EDGE_MAY_STRAY_MM = 1.0  # a hem that strays more from its thread cannot be folded thread over thread
END_MAY_SLANT = 2.0  # an end that runs flatter than 2 along to 1 across lies along the edge, not across it

StripDepth = tuple[float, float]  # nearer and further edge, in mm inside the outline's outermost point


@dataclass(frozen=True, slots=True)
class Strip:
    """A stretch to lay: which way it runs, from which edge, how deep, and between which limits along it.

    `length_mm` fixes the length, between the limits, or in the middle of the room if there are none. `is_hem` says
    that it is folded to the edge it is placed from.
    """

    direction: Direction
    edge: Edge
    depth: StripDepth
    from_mm: float | None = None
    to_mm: float | None = None
    length_mm: float | None = None
    is_hem: bool = False


@dataclass(frozen=True, slots=True)
class Laid:
    """A strip as it lies: its pieces, the room there is along it in mm, and what was noticed."""

    pieces: tuple[Rect, ...]
    room_mm: float
    findings: tuple[Finding, ...] = ()

    def length_mm(self, direction: Direction) -> float:
        """Return the length of all pieces in mm."""
        return sum(along(piece, direction)[1] - along(piece, direction)[0] for piece in self.pieces)


def along(rect: Rect, direction: Direction) -> tuple[float, float]:
    """Return where a strip begins and ends along its length, on the block in mm.

    >>> along(Rect(10, 0, 60, 5), "across")
    (10, 60)
    """
    return (rect.left, rect.right) if direction == "across" else (rect.top, rect.bottom)


def rect_at(direction: Direction, along_mm: tuple[float, float], across_mm: tuple[float, float]) -> Rect:
    """Return the rectangle from its limits along the strip and across it, on the block in mm."""
    (a, b), (c, d) = along_mm, across_mm
    return Rect(a, c, b, d) if direction == "across" else Rect(c, a, d, b)


def depth_on_block(outline: tuple[Point, ...], edge: Edge, depth: StripDepth) -> tuple[float, float]:
    """Return where a strip's two edges lie on the block, in mm, the smaller first.

    >>> depth_on_block(((0.0, 0.0), (50.0, 0.0), (50.0, 80.0), (0.0, 80.0)), "bottom", (10, 16))
    (64.0, 70.0)
    """
    bounds = extent(outline)
    near, far = depth
    if edge == "top":
        return bounds.top + near, bounds.top + far
    if edge == "bottom":
        return bounds.bottom - far, bounds.bottom - near
    if edge == "left":
        return bounds.left + near, bounds.left + far
    return bounds.right - far, bounds.right - near


def lay(outline: tuple[Point, ...], strip: Strip) -> Laid:
    """Return the strip clipped to the outline, with findings where it leaves it, is cut in pieces or lies on a curve.

    >>> square = ((0.0, 0.0), (50.0, 0.0), (50.0, 80.0), (0.0, 80.0))
    >>> lay(square, Strip("across", "bottom", (10, 16))).pieces
    (Rect(left=0.0, top=64.0, right=50.0, bottom=70.0),)
    """
    across = depth_on_block(outline, strip.edge, strip.depth)
    bounds = along(extent(outline), strip.direction)
    asked = (
        bounds[0] if strip.from_mm is None else strip.from_mm,
        bounds[1] if strip.to_mm is None else strip.to_mm,
    )
    free = _free(outline, strip.direction, asked, across) if asked[0] < asked[1] else []
    if not free:
        return Laid((), 0, (_outside(),))
    room = _free(outline, strip.direction, bounds, across)
    room_mm = sum(end - start for start, end in room)
    spans, findings = _fixed(strip, free, asked)
    pieces = tuple(rect_at(strip.direction, span, across) for span in spans)
    if _on_curve(outline, strip, pieces):
        findings = (*findings, curved_edge())
    return Laid(pieces, room_mm, findings)


def line_on(outline: tuple[Point, ...], placement: Placement) -> tuple[tuple[Point, ...], tuple[Finding, ...]]:
    """Return the line of a binding, seam or lace on one panel, with a finding where it leaves the outline."""
    from shapely import LineString

    line = line_along(outline, placement.along)
    inside = cloth_to_the_edge(outline).covers(LineString(line))
    return line, () if inside else (_leaves(),)


def points_on(outline: tuple[Point, ...], placement: Placement) -> tuple[Place, tuple[Finding, ...]]:
    """Return where motifs or closures stand on one panel, with a finding where one stands off the outline."""
    from shapely import Point as Spot

    points = line_of(placement.points, "points")
    cloth = cloth_to_the_edge(outline)
    inside = all(cloth.covers(Spot(point)) for point in points)
    return Place(points=points), () if inside else (_leaves(),)


def crossings(footprints: Mapping[str, tuple[Rect, ...]]) -> tuple[tuple[str, str], ...]:
    """Return the pairs of section keys whose strips lie over each other on one panel.

    >>> crossings({"hem": (Rect(0, 10, 50, 14),), "side": (Rect(5, 0, 9, 80),), "yoke": (Rect(0, 40, 4, 44),)})
    (('hem', 'side'),)
    """
    return tuple(
        (one, other)
        for one, other in combinations(footprints, 2)
        if any(_overlap(a, b) for a in footprints[one] for b in footprints[other])
    )


def curved_edge() -> Finding:
    """Return the finding that refuses a band along a curved or slanting edge (Butterick, 1921, p. 121)."""
    return Finding(
        "curved_edge",
        "The outline curves or slants along this band, and threads can be withdrawn only along a straight thread: "
        "bind the edge in bias, or move the band to straight cloth.",
        waits=True,
    )


def _free(
    outline: tuple[Point, ...], direction: Direction, span: tuple[float, float], across: tuple[float, float]
) -> list[tuple[float, float]]:
    """The stretches along the strip where the cloth reaches through its whole width."""
    missing = _box(rect_at(direction, span, across)).difference(cloth_inside(outline))
    at, free = span[0], []
    parts = [part for part in _parts(missing) if _size(part, _square_to(direction)) > PENCIL_MM]
    gaps = sorted(_along_bounds(part, direction) for part in parts)
    for start, end in [*gaps, (span[1], span[1])]:
        if start - at > SHORTEST_MM:
            free.append((at, start))
        at = max(at, end)
    return free


def _fixed(
    strip: Strip, free: list[tuple[float, float]], asked: tuple[float, float]
) -> tuple[list[tuple[float, float]], tuple[Finding, ...]]:
    """The stretches with the limits and the fixed length kept, and what does not fit."""
    findings: list[Finding] = []
    if len(free) > 1:
        findings.append(_in_pieces(len(free)))
    starts_out = strip.from_mm is not None and free[0][0] - asked[0] > SHORTEST_MM
    ends_out = strip.to_mm is not None and asked[1] - free[-1][1] > SHORTEST_MM
    length_mm = strip.length_mm
    too_long = length_mm is not None and length_mm > sum(end - start for start, end in free) + SHORTEST_MM
    if starts_out or ends_out or too_long:
        findings.append(_leaves())
    if length_mm is None or too_long or len(free) > 1:
        return free, tuple(findings)
    start, end = free[0]
    if strip.from_mm is None and strip.to_mm is not None:
        return [(end - length_mm, end)], tuple(findings)
    begin = start if strip.from_mm is not None and strip.to_mm is None else (start + end - length_mm) / 2
    return [(begin, begin + length_mm)], tuple(findings)


def _on_curve(outline: tuple[Point, ...], strip: Strip, pieces: tuple[Rect, ...]) -> bool:
    return any(
        _bitten(outline, strip.direction, piece) or (strip.is_hem and _edge_strays(outline, strip, piece))
        for piece in pieces
    )


def _bitten(outline: tuple[Point, ...], direction: Direction, piece: Rect) -> bool:
    """Whether the outline runs along the strip for a way, at an end of this piece that the outline cuts."""
    start, end = along(piece, direction)
    across = (piece.top, piece.bottom) if direction == "across" else (piece.left, piece.right)
    reach = END_MAY_SLANT * (across[1] - across[0]) + EDGE_MAY_STRAY_MM
    for limit, beyond in ((start, (start - 2 * reach, start)), (end, (end, end + 2 * reach))):
        space = _box(rect_at(direction, beyond, across))
        cut = [_along_bounds(part, direction) for part in _parts(space.difference(cloth_inside(outline)))]
        if not any(_touches(limit, bounds) for bounds in cut):
            continue
        cloth = [_along_bounds(part, direction) for part in _parts(space.intersection(cloth_inside(outline)))]
        if any(_touches(limit, (a, b)) and b - a > reach for a, b in cloth):
            return True
    return False


def _touches(limit: float, bounds: tuple[float, float]) -> bool:
    return min(abs(bounds[0] - limit), abs(bounds[1] - limit)) < SHORTEST_MM


def _edge_strays(outline: tuple[Point, ...], strip: Strip, piece: Rect) -> bool:
    """Whether the edge a hem is folded to strays from the thread; a side that slants in at an end does not count."""
    across = depth_on_block(outline, strip.edge, (0, strip.depth[0]))
    if across[1] - across[0] < SHORTEST_MM:
        return False
    missing = _box(rect_at(strip.direction, along(piece, strip.direction), across)).difference(cloth_inside(outline))
    for part in _parts(missing):
        deep_mm = _size(part, _square_to(strip.direction))
        if deep_mm > EDGE_MAY_STRAY_MM and _size(part, strip.direction) > END_MAY_SLANT * deep_mm + EDGE_MAY_STRAY_MM:
            return True
    return False


def _square_to(direction: Direction) -> Direction:
    return "down" if direction == "across" else "across"


def _size(part: "Polygon", direction: Direction) -> float:
    start, end = _along_bounds(part, direction)
    return end - start


def _box(rect: Rect) -> "Polygon":
    from shapely import box

    return box(rect.left, rect.top, rect.right, rect.bottom)


def _parts(shape: "BaseGeometry") -> "list[Polygon]":
    from shapely import Polygon
    from shapely.geometry.base import BaseMultipartGeometry

    parts = shape.geoms if isinstance(shape, BaseMultipartGeometry) else [shape]
    return [part for part in parts if isinstance(part, Polygon) and part.area > DUST_MM]


def _along_bounds(part: "Polygon", direction: Direction) -> tuple[float, float]:
    left, top, right, bottom = part.bounds
    return (left, right) if direction == "across" else (top, bottom)


def _overlap(a: Rect, b: Rect) -> bool:
    across = min(a.right, b.right) - max(a.left, b.left)
    down = min(a.bottom, b.bottom) - max(a.top, b.top)
    return min(across, down) > SHORTEST_MM


def _outside() -> Finding:
    return Finding("outside_outline", "This section lies outside the pattern's outline: move it in.", waits=True)


def _leaves() -> Finding:
    return Finding(
        "leaves_outline",
        "This section runs past the pattern's outline: end it sooner, or draw the outline larger.",
        waits=True,
    )


def _in_pieces(pieces: int) -> Finding:
    return Finding(
        "in_pieces",
        f"The outline cuts this section into {pieces} pieces: draw each piece up as a section of its own.",
        waits=True,
    )
