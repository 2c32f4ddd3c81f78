"""One section of a design laid on one panel, by its kind: a strip, a line, or points."""

from dataclasses import dataclass, replace

from service.reckoning.asked import Wrong
from service.reckoning.depths import Depth
from service.reckoning.designs import LINE_KINDS, Direction, Placement, SectionDesign
from service.reckoning.findings import Finding
from service.reckoning.outlines import length_of
from service.reckoning.placing import Strip, along, depth_on_block, lay, line_on, points_on, rect_at
from service.reckoning.shapes import Place, Point, Rect


@dataclass(frozen=True, slots=True)
class ToLay:
    """What to lay where: a section's placement on the panel of that outline; a strip also with its depth, how far
    inside its edge it lies on this cloth, and its length if the design fixes it.
    """

    section: SectionDesign
    placement: Placement
    outline: tuple[Point, ...]
    depth: Depth | None = None
    distance_mm: float = 0
    fixed_mm: float | None = None


@dataclass(frozen=True, slots=True)
class LaidSection:
    """A section on one panel: where it lies, all it covers, its length there and what was noticed.

    `room_mm` is the most the outline lets a strip be long.
    """

    panel: str
    place: Place
    covers: tuple[Rect, ...] = ()
    length_mm: float = 0
    room_mm: float = 0
    findings: tuple[Finding, ...] = ()


def lay_section(to_lay: ToLay) -> LaidSection:
    """Return the section laid on its panel."""
    placement, outline = to_lay.placement, to_lay.outline
    if to_lay.depth is not None:
        return _strip(to_lay, to_lay.depth)
    if to_lay.section.kind in LINE_KINDS and placement.along:
        line, findings = line_on(outline, placement)
        return LaidSection(placement.panel, Place(lines=(line,)), length_mm=length_of(line), findings=findings)
    if placement.points:
        place, findings = points_on(outline, placement)
        return LaidSection(placement.panel, place, findings=findings)
    return LaidSection(placement.panel, Place())


def with_stop_moved(to_lay: ToLay, laid: LaidSection, length_mm: float) -> ToLay:
    """Return the strip, laid in one piece, with its stop line moved so that it is `length_mm` long.

    An end without a stop line stays where the outline cuts it; two stop lines, or none, share the difference. Raises
    Wrong for a section that says no direction.
    """
    placement = to_lay.placement
    start, end = along(laid.place.strips[0], _direction(to_lay.section))
    shorter_mm = (end - start) - length_mm
    at_start = 0.5
    if (placement.from_mm is None) != (placement.to_mm is None):
        at_start = 0.0 if placement.from_mm is None else 1.0
    moved = replace(
        placement,
        from_mm=max(0.0, start + at_start * shorter_mm),
        to_mm=end - (1 - at_start) * shorter_mm,
    )
    return replace(to_lay, placement=moved, fixed_mm=None)


def _strip(to_lay: ToLay, depth: Depth) -> LaidSection:
    section, placement, outline = to_lay.section, to_lay.placement, to_lay.outline
    direction = _direction(section)
    if placement.edge is None:
        raise Wrong("edge", "a band or tuck is placed from an edge")
    laid = lay(
        outline,
        Strip(
            direction,
            placement.edge,
            depth.worked(to_lay.distance_mm),
            placement.from_mm,
            placement.to_mm,
            to_lay.fixed_mm,
            is_hem=section.kind == "hem_band",
        ),
    )
    spans = [along(piece, direction) for piece in laid.pieces]
    covered = depth_on_block(outline, placement.edge, depth.covered(to_lay.distance_mm))
    folds: list[Rect] = []
    if depth.fold_mm is not None:
        fold_mm = to_lay.distance_mm + depth.fold_mm
        at = depth_on_block(outline, placement.edge, (fold_mm, fold_mm))
        folds = [rect_at(direction, span, at) for span in spans]
    return LaidSection(
        placement.panel,
        Place(laid.pieces, tuple(((fold.left, fold.top), (fold.right, fold.bottom)) for fold in folds)),
        tuple(rect_at(direction, span, covered) for span in spans),
        laid.length_mm(direction),
        laid.room_mm,
        laid.findings,
    )


def _direction(section: SectionDesign) -> Direction:
    if section.direction is None:
        raise Wrong("direction", "a band or tuck runs across or down")
    return section.direction
