"""Mirrored panels and sections: the design says one half, here the other half is filled in."""

from dataclasses import replace
from typing import TypeVar

from service.reckoning.asked import Wrong
from service.reckoning.designs import Design, Edge, PanelDesign, Placement, SectionDesign
from service.reckoning.outlines import mirrored, outline_points
from service.reckoning.path_text import is_path, line_of
from service.reckoning.shapes import Point

Mirrorable = TypeVar("Mirrorable", PanelDesign, SectionDesign)

_OTHER_EDGE: dict[Edge, Edge] = {"left": "right", "right": "left", "top": "top", "bottom": "bottom"}


def drawn_up(design: Design) -> Design:
    """Return the design with every mirrored panel and section filled in.

    A mirrored panel has the other's sections mirrored, under its own key. What mirrors a mirror lies as the first
    one does; afterwards `mirror_of` names that first one. Raises Wrong when what is mirrored does not exist, mirrors
    this one in turn, or lies on another number of panels.
    """
    with_sections = _with_sections(design)
    outlined = {panel.key: panel for panel in design.panels}
    return replace(with_sections, panels=tuple(_panel(panel, outlined) for panel in with_sections.panels))


def sections_drawn_up(design: Design) -> dict[str, SectionDesign]:
    """Return every section of the design by its key, the mirrored ones filled in, without a look at any outline.

    Raises Wrong, as `drawn_up` does.
    """
    return {section.key: section for section in _with_sections(design).every_section}


def stands_opposite(design: Design, key: str) -> tuple[float, float]:
    """Return where the mirror of a panel stands in the drawing: as far from the other edge of its side as it from one.

    One that stands in the middle has its mirror beside it. `design` need not be drawn up. Raises Wrong for an unknown
    panel.
    """
    whole = drawn_up(design)
    panel = whole.panel(key)
    beside = [one for one in whole.panels if one.side == panel.side or "both" in {one.side, panel.side}]
    left = min(one.at_mm[0] for one in beside)
    right = max(one.at_mm[0] + one.block_width_mm for one in beside)
    x, y = panel.at_mm
    opposite = left + right - x - panel.block_width_mm
    return (x + panel.block_width_mm, y) if abs(opposite - x) < 1 else (opposite, y)


def _with_sections(design: Design) -> Design:
    said = {section.key: section for section in design.every_section}
    drawn = {panel.key: tuple(_section(design, section, said) for section in panel.sections) for panel in design.panels}
    panels = {panel.key: panel for panel in design.panels}

    def sections_on(panel: PanelDesign) -> tuple[SectionDesign, ...]:
        if not panel.mirror_of:
            return drawn[panel.key]
        other = _mirrored_by(panel, panels)
        return tuple(_on_mirrored_panel(panel.key, section, other) for section in drawn[other.key])

    return replace(
        design,
        panels=tuple(replace(panel, sections=sections_on(panel)) for panel in design.panels),
        sections=tuple(_section(design, section, said) for section in design.sections),
    )


def _mirrored_by(panel: PanelDesign, panels: dict[str, PanelDesign]) -> PanelDesign:
    other = _known("panel", panel.mirror_of, panels)
    if other.mirror_of:
        raise Wrong("mirror_of", f"{other.key!r} is itself a mirror: name the panel it mirrors")
    return other


def _panel(panel: PanelDesign, panels: dict[str, PanelDesign]) -> PanelDesign:
    if not panel.mirror_of:
        return panel
    other = _mirrored_by(panel, panels)
    return replace(
        panel,
        cloth=other.cloth,
        block_width_mm=other.block_width_mm,
        block_height_mm=other.block_height_mm,
        outline=_text_of(mirrored(outline_points(other), other.block_width_mm)),
        grows_by=other.grows_by,
    )


def _on_mirrored_panel(panel: str, section: SectionDesign, other: PanelDesign) -> SectionDesign:
    return replace(
        section,
        key=_own_key(panel, section.key),
        mirror_of=section.mirror_of or section.key,
        placements=tuple(
            replace(_placement(other.block_width_mm, placement), panel=panel) for placement in section.placements
        ),
        corner_with=tuple(_own_key(panel, key) for key in section.corner_with),
    )


def _section(design: Design, section: SectionDesign, said: dict[str, SectionDesign]) -> SectionDesign:
    if not section.mirror_of:
        return section
    without = {key: other for key, other in said.items() if key != section.key}  # no section mirrors itself
    other = _section(design, _known("section", section.mirror_of, without), without)
    panels = tuple(placement.panel for placement in section.placements or other.placements)
    if len(panels) != len(other.placements):
        raise Wrong("on", f"must lie on as many panels as {other.key!r}, which it mirrors")
    placements = tuple(
        replace(_placement(_width_mm(design, panel), placement), panel=panel)
        for panel, placement in zip(panels, other.placements, strict=True)
    )
    return replace(
        other,
        key=section.key,
        name=section.name,
        owner=section.owner,
        mirror_of=other.mirror_of or other.key,
        placements=placements,
        corner_with=section.corner_with,
    )


def _known(what: str, key: str, known: dict[str, Mirrorable]) -> Mirrorable:
    if key not in known:
        raise Wrong("mirror_of", f"there is no {what} called {key!r} that could be mirrored")
    return known[key]


def _own_key(panel: str, key: str) -> str:
    return f"{panel}.{key.rpartition('.')[2]}"


def _width_mm(design: Design, key: str) -> float:
    panel = design.panel(key)
    return design.panel(panel.mirror_of).block_width_mm if panel.mirror_of else panel.block_width_mm


def _placement(width_mm: float, placement: Placement) -> Placement:
    across = placement.edge in {"top", "bottom"}
    return replace(
        placement,
        edge=_OTHER_EDGE[placement.edge] if placement.edge else None,
        from_mm=_other_side(width_mm, placement.to_mm) if across else placement.from_mm,
        to_mm=_other_side(width_mm, placement.from_mm) if across else placement.to_mm,
        along=_mirrored_text(placement.along, width_mm),
        points=_mirrored_text(placement.points, width_mm),
    )


def _other_side(width_mm: float, at_mm: float | None) -> float | None:
    return None if at_mm is None else width_mm - at_mm


def _mirrored_text(text: str, width_mm: float) -> str:
    if not text:
        return ""
    points = mirrored(line_of(text, "along"), width_mm)
    # two points of a drawn line must not be taken for two points of the outline
    return f"M {_text_of(points)}" if is_path(text) else _text_of(points)


def _text_of(points: tuple[Point, ...]) -> str:
    return " ".join(f"{x:.10g},{y:.10g}" for x, y in points)
