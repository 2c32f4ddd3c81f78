"""Points, rectangles and lines on a panel's block, in mm: x across the cloth, y down along the warp."""

from dataclasses import dataclass

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Rect:
    """An upright rectangle from its upper left to its lower right corner, in mm."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        """Extent across, in mm."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Extent down, in mm."""
        return self.bottom - self.top


@dataclass(frozen=True, slots=True)
class Place:
    """Where a section lies on its panel's block.

    Strips of a band or tuck, lines of a binding, seam or lace, points of motifs and closures.
    """

    strips: tuple[Rect, ...] = ()
    lines: tuple[tuple[Point, ...], ...] = ()
    points: tuple[Point, ...] = ()
