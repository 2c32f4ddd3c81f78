"""True bias strips, at 45 degrees to the threads, on an upright piece of cloth.

The strips lie side by side from a corner of the piece: first those that run from edge to edge, then those cut
across the two corners that are left. Strip after strip, that corner start leaves the most length to join: the
total is convex in where the first strip starts, so it is greatest with the first strip in the corner.
"""

import math
from dataclasses import dataclass

from service.reckoning.shapes import Point

ROOT_2 = math.sqrt(2)
# A nanometre: lengths worked out in floating point are not told apart below it.
DUST_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Cutting:
    """A piece of cloth to be cut into bias strips, and how they are to be joined.

    `closed` says that the run is joined into a ring. Strips shorter than `shortest_mm`, or that a join would eat
    whole, are left out.
    """

    cut_width_mm: float
    cloth_width_mm: float
    cloth_height_mm: float
    join_seam_mm: float
    closed: bool = False
    shortest_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Strip:
    """One strip with its ends on the straight grain; `outline` in mm, x across the cloth, y along the warp."""

    number: int
    length_mm: float
    edge_to_edge: bool
    outline: tuple[Point, Point, Point, Point]


@dataclass(frozen=True, slots=True)
class Rows:
    """How many strips run edge to edge, and how many across the far and the near corner."""

    edge_to_edge: int
    far: int = 0
    near: int = 0

    @property
    def strips(self) -> int:
        """All strips."""
        return self.edge_to_edge + self.far + self.near


def along_straight_grain_mm(across_mm: float) -> float:
    """Return the length a distance square to the bias takes up along warp or weft, in mm: √2 times as much.

    The same factor gives the edge of a strip that crosses a cloth from selvage to selvage.

    >>> round(along_straight_grain_mm(25.4) / 25.4, 4)
    1.4142
    """
    return across_mm * ROOT_2


def join_loss_mm(join_seam_mm: float) -> float:
    """Return how much one join shortens the run, in mm: √2 times the seam allowance from either strip.

    >>> round(join_loss_mm(6.35), 3)
    17.961
    """
    return 2 * along_straight_grain_mm(join_seam_mm)


def most_bias_mm(cut_width_mm: float, cloth_width_mm: float, cloth_height_mm: float) -> float:
    """Return the length no way of cutting can exceed, in mm: the cloth's area over the strip's width.

    >>> most_bias_mm(50, 500, 500)
    5000.0
    """
    return cloth_width_mm * cloth_height_mm / cut_width_mm


def rows_of(cutting: Cutting) -> Rows:
    """Return how many strips of each sort the piece gives, without those too short to use.

    A strip alone in an open run has no join to lose: then even a strip a join would eat is used.
    """
    worth = _rows_longer_than(cutting, max(join_loss_mm(cutting.join_seam_mm) + DUST_MM, cutting.shortest_mm))
    if worth.strips or cutting.closed:
        return worth
    single = _rows_longer_than(cutting, max(DUST_MM, cutting.shortest_mm))
    return Rows(1) if single.edge_to_edge else Rows(0, min(1, single.far))


def joins_of(cutting: Cutting, strips: int) -> int:
    """Return the joins in a run of so many strips: one fewer than strips, in a ring as many.

    >>> joins_of(Cutting(25, 500, 500, 6), 3), joins_of(Cutting(25, 500, 500, 6, closed=True), 3)
    (2, 3)
    """
    return strips if cutting.closed else max(0, strips - 1)


def run_mm(cutting: Cutting) -> float:
    """Return the length of all strips of the piece joined into one run, in mm.

    Summed as two falling series, so that it costs the same for one strip and for ten thousand.
    """
    rows = rows_of(cutting)
    far_leg, near_leg = _corner_legs(cutting)
    legs = (
        rows.edge_to_edge * _short_side(cutting)
        + _falling_sum(far_leg, rows.far, _step(cutting))
        + _falling_sum(near_leg, rows.near, _step(cutting))
    )
    return legs * ROOT_2 - joins_of(cutting, rows.strips) * join_loss_mm(cutting.join_seam_mm)


def lay_strips(cutting: Cutting) -> tuple[Strip, ...]:
    """Return every usable strip, edge-to-edge ones first from the corner on, then the longest corner strips.

    >>> [round(strip.length_mm) for strip in lay_strips(Cutting(50, 300, 200, 6))]
    [283, 224, 183, 124, 83, 24]
    """
    rows, step = rows_of(cutting), _step(cutting)
    long_mm, short_mm = _sides(cutting)
    whole = [(slot * step, 0.0, short_mm) for slot in range(rows.edge_to_edge)]
    beyond = (slot * step for slot in range(_whole_slots(cutting), _whole_slots(cutting) + rows.far))
    far = [(start, 0.0, long_mm - start - step) for start in beyond]
    near = [(-slot * step, slot * step, short_mm) for slot in range(1, rows.near + 1)]
    corners = sorted(far + near, key=lambda place: place[1] - place[2])
    return tuple(
        Strip(number, (end - begin) * ROOT_2, number <= len(whole), _outline(cutting, start, begin, end))
        for number, (start, begin, end) in enumerate(whole + corners, start=1)
    )


def _sides(cutting: Cutting) -> tuple[float, float]:
    return max(cutting.cloth_width_mm, cutting.cloth_height_mm), _short_side(cutting)


def _short_side(cutting: Cutting) -> float:
    return min(cutting.cloth_width_mm, cutting.cloth_height_mm)


def _step(cutting: Cutting) -> float:
    return along_straight_grain_mm(cutting.cut_width_mm)


def _whole_slots(cutting: Cutting) -> int:
    long_mm, short_mm = _sides(cutting)
    return math.floor((long_mm - short_mm) / _step(cutting) + 1e-9)


def _corner_legs(cutting: Cutting) -> tuple[float, float]:
    """Return the straight-grain extent of the longest strip in the far and in the near corner."""
    long_mm, short_mm = _sides(cutting)
    step = _step(cutting)
    return long_mm - (_whole_slots(cutting) + 1) * step, short_mm - step


def _rows_longer_than(cutting: Cutting, least_mm: float) -> Rows:
    least_leg = (least_mm - DUST_MM) / ROOT_2
    far_leg, near_leg = _corner_legs(cutting)
    return Rows(
        _whole_slots(cutting) if _short_side(cutting) > least_leg else 0,
        _falling_count(far_leg, least_leg, _step(cutting)),
        _falling_count(near_leg, least_leg, _step(cutting)),
    )


def _falling_count(first: float, above: float, step: float) -> int:
    return max(0, math.ceil((first - above) / step))


def _falling_sum(first: float, terms: int, step: float) -> float:
    return terms * first - step * terms * (terms - 1) / 2


def _outline(cutting: Cutting, start: float, begin: float, end: float) -> tuple[Point, Point, Point, Point]:
    """Return the corners of the strip from `start` on the long side, between two depths of the short side."""
    step = _step(cutting)
    turned = cutting.cloth_height_mm > cutting.cloth_width_mm

    def point(along: float, deep: float) -> Point:
        return (deep, along) if turned else (along, deep)

    return (
        point(start + begin, begin),
        point(start + step + begin, begin),
        point(start + step + end, end),
        point(start + end, end),
    )
