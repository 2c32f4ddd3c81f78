"""The outline of a panel's pattern: its points on the block, mirrored on a fold, and the cloth inside it.

Outlines run clockwise as seen, with y downwards.
"""

import math
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

from service.reckoning.asked import Wrong
from service.reckoning.designs import PanelDesign
from service.reckoning.path_text import is_path, line_of
from service.reckoning.shapes import Point, Rect

if TYPE_CHECKING:
    from shapely import LineString, Polygon

ON_FOLD_MM = 0.01
NEAR_OUTLINE_MM = 3.0  # how far a point that means the outline may lie beside it
ROUND_TO = 3  # decimals of a mm


def outline_points(panel: PanelDesign) -> tuple[Point, ...]:
    """Return the panel's whole outline in mm on its block, clockwise, without a repeated last point.

    A panel on a fold draws the right half, from the block's middle and back to it; the left half mirrors it.
    Raises Wrong("outline") when the line crosses itself, encloses nothing, or leaves the block.

    >>> half = PanelDesign("front", "Front", "front", "gown", 60, 40, "30,0 50,0 50,40 30,40", on_fold=True)
    >>> outline_points(half)
    ((30.0, 0.0), (50.0, 0.0), (50.0, 40.0), (30.0, 40.0), (10.0, 40.0), (10.0, 0.0))
    """
    return _outline(panel.outline, panel.block_width_mm, panel.block_height_mm, on_fold=panel.on_fold)


@lru_cache(maxsize=512)
def _outline(text: str, width_mm: float, height_mm: float, *, on_fold: bool) -> tuple[Point, ...]:
    from shapely import Polygon

    drawn = line_of(text)
    points = _clockwise(_unfolded(drawn, width_mm) if on_fold else drawn)
    shape = Polygon(points) if len(points) > 2 else Polygon()
    if shape.is_empty or not shape.is_valid or shape.area < 1:
        raise Wrong("outline", "must go round a piece of cloth without crossing itself")
    left, top, right, bottom = shape.bounds
    if min(left, top) < -ON_FOLD_MM or right > width_mm + ON_FOLD_MM or bottom > height_mm + ON_FOLD_MM:
        raise Wrong("outline", f"must stay on the block of {width_mm:g} × {height_mm:g} mm")
    return points


@lru_cache(maxsize=512)
def cloth_inside(outline: tuple[Point, ...]) -> "Polygon":
    """Return the outline as a polygon."""
    from shapely import Polygon

    return Polygon(outline)


@lru_cache(maxsize=512)
def cloth_to_the_edge(outline: tuple[Point, ...]) -> "Polygon":
    """Return the outline as a polygon grown by a hair, so that what lies on the outline lies inside."""
    return cloth_inside(outline).buffer(ON_FOLD_MM)


@lru_cache(maxsize=512)
def extent(outline: tuple[Point, ...]) -> Rect:
    """Return the upright rectangle that the outline just fits.

    >>> extent(((1.0, 2.0), (5.0, 2.0), (5.0, 9.0)))
    Rect(left=1.0, top=2.0, right=5.0, bottom=9.0)
    """
    across, down = zip(*outline, strict=True)
    return Rect(min(across), min(down), max(across), max(down))


def mirrored(points: tuple[Point, ...], width_mm: float) -> tuple[Point, ...]:
    """Return the points mirrored about the middle of a block `width_mm` wide, run the other way round.

    >>> mirrored(((0.0, 0.0), (10.0, 5.0)), 100)
    ((90.0, 5.0), (100.0, 0.0))
    """
    return tuple((round(width_mm - x, ROUND_TO), y) for x, y in reversed(points))


def length_of(points: tuple[Point, ...]) -> float:
    """Return the length of a line in mm.

    >>> length_of(((0.0, 0.0), (3.0, 4.0), (3.0, 10.0)))
    11.0
    """
    return sum(math.dist(a, b) for a, b in pairwise(points))


@lru_cache(maxsize=2048)
def line_along(outline: tuple[Point, ...], text: str, field: str = "along") -> tuple[Point, ...]:
    """Return the line a text means: two points follow the outline clockwise, more are a line of their own.

    The same point twice goes all round. Raises Wrong when a point that should lie on the outline is further
    than `NEAR_OUTLINE_MM` from it.

    >>> square = ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0))
    >>> line_along(square, "5,10 0,0")
    ((5.0, 10.0), (0.0, 10.0), (0.0, 0.0))
    """
    from shapely import LineString
    from shapely.ops import substring

    points = line_of(text, field)
    if is_path(text) or len(points) != 2:
        if len(points) < 2:
            raise Wrong(field, "needs two points or more")
        return points
    ring = LineString((*outline, outline[0]))
    start, end = (_run_to(ring, point, field) for point in points)
    pieces = [substring(ring, start, end)] if start < end else [substring(ring, start, ring.length)]
    if start >= end:
        pieces.append(substring(ring, 0, end))
    return _rounded([(x, y) for piece in pieces for x, y in piece.coords])


def _run_to(ring: "LineString", point: Point, field: str) -> float:
    from shapely import Point as Spot

    spot = Spot(point)
    if ring.distance(spot) > NEAR_OUTLINE_MM:
        raise Wrong(field, f"has a point at {point[0]:g},{point[1]:g} mm that is not on the outline")
    return float(ring.project(spot))


def _rounded(corners: list[Point]) -> tuple[Point, ...]:
    points = [(round(x, ROUND_TO), round(y, ROUND_TO)) for x, y in corners]
    return tuple(point for at, point in enumerate(points) if at == 0 or point != points[at - 1])


def _unfolded(half: tuple[Point, ...], width_mm: float) -> tuple[Point, ...]:
    middle = width_mm / 2
    if len(half) < 3 or abs(half[0][0] - middle) > ON_FOLD_MM or abs(half[-1][0] - middle) > ON_FOLD_MM:
        raise Wrong("outline", f"must begin and end on the fold, at x = {middle:g}")
    if min(x for x, _ in half) < middle - ON_FOLD_MM:
        raise Wrong("outline", f"must stay on the right of the fold, at x = {middle:g}")
    return (*half, *mirrored(half[1:-1], width_mm))


def _clockwise(points: tuple[Point, ...]) -> tuple[Point, ...]:
    turn = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, (*points[1:], points[0]), strict=True))
    return points if turn > 0 else tuple(reversed(points))
