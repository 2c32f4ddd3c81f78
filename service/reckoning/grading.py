"""A design drawn larger or smaller: its outlines grow, its bands, tucks, hems and seams keep their depth.

What grows by what is common practice, no source: widths by the girth, lengths by the height, an opening the head goes
through by the head. Places come out in whole mm, as a maker measures them.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from service.reckoning.asked import above_zero
from service.reckoning.band_kinds import BAND_KINDS, bundles_come_in
from service.reckoning.designs import STRIP_KINDS, Design, Edge, PanelDesign, Placement, SectionDesign
from service.reckoning.mirrors import drawn_up
from service.reckoning.on_cloth import OnCloth, as_drawn
from service.reckoning.outlines import extent, line_along, outline_points
from service.reckoning.panel_grading import Factors, GradedPanel, Opening
from service.reckoning.path_text import moved_line
from service.reckoning.shapes import Point
from service.reckoning.spaces import Space

MOST_GROWTH = 10.0


@dataclass(frozen=True, slots=True)
class Growth:
    """By how much a design grows: round the body, along it, and round the head; 1 leaves it as it is."""

    across: float
    down: float
    head: float

    def __post_init__(self) -> None:
        for field in ("across", "down", "head"):
            above_zero(field, getattr(self, field), MOST_GROWTH)

    def of(self, panel: PanelDesign) -> Factors:
        """Return what a panel grows by; one that grows with the head does so both ways."""
        return Factors(self.head, self.head) if panel.grows_by == "head" else Factors(self.across, self.down)


@dataclass(frozen=True, slots=True)
class Grading:
    """A design being drawn in another size: drawn up, on its own cloths, and each of its own panels as it grows."""

    whole: Design
    drawn: OnCloth
    growth: Growth
    panels: Mapping[str, GradedPanel]

    def point(self, panel: str, point: Point) -> Point:
        """Where a point of a panel goes, a mirrored one's too."""
        own, mirrored = self._own(panel)
        if not mirrored:
            return own.point(point)
        x, y = own.point((own.panel.block_width_mm - point[0], point[1]))
        return own.width_mm - x, y

    def across(self, panel: str, x_mm: float) -> float:
        """Where a line down a panel goes."""
        own, mirrored = self._own(panel)
        return own.width_mm - own.x_at(own.panel.block_width_mm - x_mm) if mirrored else own.x_at(x_mm)

    def down(self, panel: str, y_mm: float) -> float:
        """Where a line across a panel goes."""
        return self._own(panel)[0].y_at(y_mm)

    def _own(self, panel: str) -> tuple[GradedPanel, bool]:
        if panel in self.panels:
            return self.panels[panel], False
        return self.panels[self.whole.panel(panel).mirror_of], True


def grown(design: Design, growth: Growth) -> Design:
    """Return the design drawn larger or smaller, its names and its size in words as they were.

    Threads withdrawn, bundles, tucks, finished widths, seams and hems stay; the cloth between bands grows. A length
    said in threads comes out in whole bundles. Raises Wrong for a design that is not sound.
    """
    whole = drawn_up(design)
    drawn = as_drawn(whole)
    panels = {
        panel.key: GradedPanel(panel, growth.of(panel), _folds(drawn, panel.key), _openings(whole, panel, growth))
        for panel in design.panels
        if not panel.mirror_of
    }
    grading = Grading(whole, drawn, growth, panels)
    return replace(
        design,
        panels=tuple(_panel(grading, panel) for panel in design.panels),
        sections=tuple(_section(grading, section) for section in design.sections),
    )


def _openings(whole: Design, panel: PanelDesign, growth: Growth) -> tuple[Opening, ...]:
    fold_mm = panel.block_width_mm / 2 if panel.on_fold else None
    return tuple(
        Opening(line_along(outline_points(panel), placement.along), growth.head, fold_mm)
        for section in whole.every_section
        for placement in section.placements
        if section.opening and placement.along and placement.panel == panel.key
    )


def _folds(drawn: OnCloth, panel: str) -> dict[Edge, float]:
    """What is folded in at each edge of a panel: the hem or facing that a hem band is knotted to, and that band."""
    return {
        space.second.edge: space.width_mm + drawn.depths[space.second.section].reach_mm
        for space in drawn.spaces[panel]
        if _is_fold(drawn, space)
    }


def _is_fold(drawn: OnCloth, space: Space) -> bool:
    kinds = {section.key: section.kind for section in drawn.design.every_section}
    return not space.first and kinds[space.second.section] == "hem_band"


def _panel(grading: Grading, panel: PanelDesign) -> PanelDesign:
    at_mm = _stands_at(grading, grading.whole.panel(panel.key))
    if panel.mirror_of:
        return replace(panel, at_mm=at_mm)
    own = grading.panels[panel.key]
    return replace(
        panel,
        block_width_mm=own.width_mm,
        block_height_mm=own.height_mm,
        outline=own.outline,
        at_mm=at_mm,
        sections=tuple(_section(grading, section) for section in panel.sections),
    )


def _stands_at(grading: Grading, panel: PanelDesign) -> tuple[float, float]:
    """Where the block stands in the drawing: what met before meets again."""
    heads = all(one.grows_by == "head" for one in grading.whole.panels)
    growth = grading.growth
    by = Factors(growth.head, growth.head) if heads else Factors(growth.across, growth.down)
    bounds = extent(outline_points(panel))
    x, y = panel.at_mm
    return round(by.across * (x + bounds.left)) - bounds.left, round(by.down * (y + bounds.top)) - bounds.top


def _section(grading: Grading, section: SectionDesign) -> SectionDesign:
    if section.mirror_of:
        return section
    return replace(
        section,
        placements=tuple(_placement(grading, section, placement) for placement in section.placements),
        standing_threads=_standing(section, _length_factor(grading, section)),
        length_mm=None
        if section.length_mm is None
        else max(1, round(section.length_mm * _length_factor(grading, section))),
    )


def _length_factor(grading: Grading, section: SectionDesign) -> float:
    """What a length that the design says itself grows by."""
    if section.opening:
        return grading.growth.head
    factors = grading.growth.of(grading.whole.panel(section.placements[0].panel))
    return factors.down if section.direction == "down" else factors.across


def _standing(section: SectionDesign, factor: float) -> int | None:
    if section.standing_threads is None:
        return None
    kind = next(kind for kind in BAND_KINDS if kind == section.kind)
    each = section.bundle_threads * bundles_come_in(kind, closed_round=section.closed_round)
    return max(1, round(section.standing_threads * factor / each)) * each


def _placement(grading: Grading, section: SectionDesign, placement: Placement) -> Placement:
    panel = placement.panel
    if section.kind not in STRIP_KINDS:

        def move(point: Point, ends: tuple[Point, Point]) -> Point:
            del ends
            return grading.point(panel, point)

        return replace(
            placement,
            along=moved_line(placement.along, move) if placement.along else "",
            points=moved_line(placement.points, move) if placement.points else "",
        )
    to = grading.across if section.direction == "across" else grading.down
    return replace(
        placement,
        distance_mm=_distances(grading, panel)[section.key],
        from_mm=None if placement.from_mm is None else to(panel, placement.from_mm),
        to_mm=None if placement.to_mm is None else to(panel, placement.to_mm),
    )


def _distances(grading: Grading, panel: str) -> dict[str, float]:
    """How far inside its edge each strip of a panel lies: the spaces grow, what is worked in and a hem's fold stay."""
    drawn = grading.drawn
    factors = grading.growth.of(grading.whole.panel(panel))
    found: dict[str, float] = {}
    for space in drawn.spaces[panel]:
        own = space.second.section
        by = factors.down if space.second.direction == "across" else factors.across
        by = 1.0 if _is_fold(drawn, space) else by
        near_mm = found[space.first] + drawn.depths[space.first].reach_mm if space.first else 0.0
        found[own] = round(near_mm + by * space.width_mm, 1)
    return found
