"""One panel drawn larger or smaller: where each of its points goes, in whole mm."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from service.reckoning.designs import Edge, PanelDesign
from service.reckoning.outlines import NEAR_OUTLINE_MM, extent, outline_points
from service.reckoning.path_text import moved_line
from service.reckoning.shapes import Point

ON_LINE_MM = 0.6  # how far a corner of the outline may lie beside a line along it
LEVEL_MM = 1.0

Stretch = tuple[Point, Point]


@dataclass(frozen=True, slots=True)
class Factors:
    """What a panel grows by, across the cloth and down it."""

    across: float
    down: float


@dataclass(frozen=True, slots=True)
class Axis:
    """A panel along one of its two ways: it grows from `low` to `high` mm, save what is folded in at either end."""

    low: float
    high: float
    factor: float
    kept_low: float = 0
    kept_high: float = 0

    @property
    def more_mm(self) -> int:
        """How much longer it grows as a whole, in whole mm; below zero when it gets shorter."""
        return round((self.factor - 1) * max(0.0, self.high - self.kept_high - self.low - self.kept_low))

    def at(self, place: float) -> float:
        """Where a place goes.

        >>> hemmed = Axis(20, 220, 0.5, kept_high=40)
        >>> hemmed.at(20), hemmed.at(100), hemmed.at(200), hemmed.more_mm
        (20, 60, 120, -80)
        """
        if place <= self.low + self.kept_low:
            return place
        if place >= self.high - self.kept_high:
            return place + self.more_mm
        return round(place + (self.factor - 1) * (place - self.low - self.kept_low))


@dataclass(frozen=True, slots=True)
class Opening:
    """A stretch of the outline that the head goes through, and what it grows by.

    It grows about its middle; on a panel that has only half of it, about its lower end, where the other half joins.
    One that lies on the panel's fold, `fold_mm` across the block, grows about the fold, however its ends are drawn.
    """

    line: tuple[Point, ...]
    factor: float
    fold_mm: float | None = None

    @property
    def is_whole(self) -> bool:
        """Whether the panel has the whole of it, its two ends level, not half."""
        return abs(self.line[0][1] - self.line[-1][1]) < LEVEL_MM

    @property
    def middle_mm(self) -> float:
        """How far across the block the middle of the whole opening lies."""
        across = [x for x, _ in self.line]
        if self.fold_mm is not None and min(across) - ON_LINE_MM <= self.fold_mm <= max(across) + ON_LINE_MM:
            return self.fold_mm
        (ax, ay), (bx, by) = self.line[0], self.line[-1]
        if self.is_whole:
            return (ax + bx) / 2
        return ax if ay > by else bx

    @property
    def top_mm(self) -> float:
        """How far down the block its higher end lies."""
        return min(self.line[0][1], self.line[-1][1])

    def has(self, point: Point) -> bool:
        """Whether a point lies on it, or on a fold's other half of it."""
        from shapely import LineString
        from shapely import Point as Spot

        x, y = point
        spots = [point] if self.fold_mm is None else [point, (2 * self.fold_mm - x, y)]
        return any(LineString(self.line).distance(Spot(spot)) <= ON_LINE_MM for spot in spots)


@dataclass(frozen=True)
class GradedPanel:
    """A panel of its own (no mirror) and what it grows by; the margin between outline and block stays.

    `folds_mm` is what is folded in at an edge, hems and facings, from the outline to the far side of their band.
    """

    panel: PanelDesign
    factors: Factors
    folds_mm: Mapping[Edge, float] = field(default_factory=dict)
    openings: tuple[Opening, ...] = ()

    @cached_property
    def _across(self) -> Axis:
        """Its way across; on a fold, from the fold to the right."""
        left, right = (self.folds_mm.get(edge, 0.0) for edge in ("left", "right"))
        bounds = extent(outline_points(self.panel))
        if self.panel.on_fold:
            half = round(bounds.right) - self.panel.block_width_mm / 2
            return Axis(0, half, self.factors.across, kept_high=max(left, right))
        return Axis(round(bounds.left), round(bounds.right), self.factors.across, left, right)

    @cached_property
    def _down(self) -> Axis:
        top, bottom = (self.folds_mm.get(edge, 0.0) for edge in ("top", "bottom"))
        bounds = extent(outline_points(self.panel))
        return Axis(round(bounds.top), round(bounds.bottom), self.factors.down, top, bottom)

    @property
    def width_mm(self) -> float:
        """The block's new width."""
        return self.panel.block_width_mm + (2 if self.panel.on_fold else 1) * self._across.more_mm

    @property
    def height_mm(self) -> float:
        """The block's new height."""
        return self.panel.block_height_mm + self._down.more_mm

    @cached_property
    def outline(self) -> str:
        """The new outline, written as the old one is."""
        return moved_line(self.panel.outline, self._corner)

    def x_at(self, x_mm: float) -> float:
        """Where a line down the panel goes."""
        if not self.panel.on_fold:
            return self._across.at(x_mm)
        from_fold = x_mm - self.panel.block_width_mm / 2
        return self.width_mm / 2 + math.copysign(self._across.at(abs(from_fold)), from_fold)

    def y_at(self, y_mm: float) -> float:
        """Where a line across the panel goes."""
        return self._down.at(y_mm)

    def point(self, point: Point) -> Point:
        """Where a point goes: one on a straight stretch of the outline, or close to it, goes with that stretch.

        It comes out in whole mm, on a fold in whole mm from the fold, so that what lay on the fold lies on it again.
        """
        from shapely import LineString
        from shapely import Point as Spot

        near = min(self._stretches, key=lambda one: LineString(one[0]).distance(Spot(point)))
        if LineString(near[0]).distance(Spot(point)) > NEAR_OUTLINE_MM:
            return self.x_at(point[0]), self.y_at(point[1])
        (start, end), (new_start, new_end) = near
        along = LineString((start, end)).project(Spot(point), normalized=True)
        foot = _between(start, end, along)
        new_foot = _between(new_start, new_end, along)
        fold = self.width_mm / 2 if self.panel.on_fold else 0
        return fold + round(new_foot[0] - fold + point[0] - foot[0]), round(new_foot[1] + point[1] - foot[1])

    def _corner(self, point: Point, ends: Stretch) -> Point:
        opening = next((one for one in self.openings if all(one.has(end) for end in ends)), None)
        if opening is None:
            return self.x_at(point[0]), self.y_at(point[1])
        middle, top = opening.middle_mm, opening.top_mm
        across, down = point[0] - middle, opening.factor * (point[1] - top)
        kept = 0.0 if opening.is_whole else self._across.kept_low if across > 0 else self._across.kept_high
        from_fold = max(0.0, abs(across) - kept)  # a facing that the opening runs over stays as wide as it is
        far = abs(across) + (opening.factor - 1) * from_fold
        return self.x_at(middle) + round(math.copysign(far, across)), self.y_at(top) + round(down)

    @cached_property
    def _stretches(self) -> tuple[tuple[Stretch, Stretch], ...]:
        """The straight stretches of the outline, before and after, each corner as one without length; both halves."""
        drawn = tuple(self._drawn())
        if not self.panel.on_fold:
            return drawn
        was, now = self.panel.block_width_mm, self.width_mm
        return drawn + tuple((_over(before, was), _over(after, now)) for before, after in drawn)

    def _drawn(self) -> Iterator[tuple[Stretch, Stretch]]:
        corners: list[tuple[Point, bool]] = []  # each with whether the line to it is straight
        curved = False

        def see(point: Point, ends: Stretch) -> Point:
            nonlocal curved
            if ends == (point, point):
                corners.append((point, not curved))
            curved = ends != (point, point)
            return point

        moved_line(self.panel.outline, see)
        if not self.panel.on_fold:
            corners.append((corners[0][0], True))
        for at, (corner, straight) in enumerate(corners):
            moved = self._corner(corner, (corner, corner))
            if at and straight:
                before = corners[at - 1][0]
                yield (before, corner), (self._corner(before, (before, before)), moved)
            elif math.dist(corner, corners[0][0]) or not at:
                yield (corner, corner), (moved, moved)


def _between(start: Point, end: Point, part: float) -> Point:
    return start[0] + part * (end[0] - start[0]), start[1] + part * (end[1] - start[1])


def _over(stretch: Stretch, width_mm: float) -> Stretch:
    (ax, ay), (bx, by) = stretch
    return (width_mm - ax, ay), (width_mm - bx, by)
