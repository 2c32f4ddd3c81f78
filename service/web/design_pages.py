"""What pages of designs show: drawings, figures and findings of a design on its own cloths."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from markupsafe import Markup

from service.drawing.from_plan import Progress, shown_panels
from service.drawing.garment_map import garment_map
from service.drawing.panel_drawing import panel_drawing
from service.drawing.thumbnail import thumbnail
from service.reckoning.findings import Finding
from service.reckoning.plans import GarmentPlan, SectionPlan
from service.studio.designs import DrawnUp, drawn_up
from service.web.words import drawn_length


@dataclass(frozen=True, slots=True)
class DesignSummary:
    """One design as the list shows it."""

    drawing: Markup
    size: str
    panels: int
    sections: int
    knots: int


@dataclass(frozen=True, slots=True)
class PanelShown:
    """One panel with its drawing and its sections."""

    key: str
    name: str
    drawing: Markup
    block_width_mm: float
    block_height_mm: float
    cloth: str
    mirror: bool
    sections: tuple[SectionPlan, ...]


@dataclass(frozen=True, slots=True)
class Told:
    """A finding with the section it is about, and the maker's reason why it need trouble nobody."""

    key: str
    name: str
    finding: Finding
    why: str


@lru_cache(maxsize=256)
def summary_of(document: str, prefix: str) -> DesignSummary:
    """A kept design in short; the same text is drawn once."""
    drawn = drawn_up(document)
    plan = drawn.plan
    small = thumbnail(shown_panels(plan), drawn.design.name, prefix)
    return DesignSummary(Markup(small), drawn.design.size, len(plan.panels), len(plan.sections), plan.knots_before)  # noqa: S704 (SVG of our own)


def large_drawing(plan: GarmentPlan, address: str = "") -> Markup:
    """Front and back to scale; with an address its sections are links to where that page writes of them."""
    href = {section.key: f"{address}#section-{section.key}" for section in plan.sections} if address else {}
    return Markup(garment_map(shown_panels(plan, Progress(href=href)), plan.name))  # noqa: S704 (SVG of our own)


def ways_to_change(drawn: DrawnUp, design_id: int) -> dict[str, str]:
    """By section, the page where it is changed; one that a mirrored panel takes over is changed with that panel."""
    said = {section.key for section in drawn.design.every_section}
    return {
        one.key: f"/designs/{design_id}/" + (f"sections/{one.key}" if one.key in said else f"panels/{one.panels[0]}")
        for one in drawn.plan.sections
    }


def drawing_to_change(drawn: DrawnUp, design_id: int) -> Markup:
    """Front and back to scale, each section a link to the page where it is changed."""
    href = ways_to_change(drawn, design_id)
    return Markup(garment_map(shown_panels(drawn.plan, Progress(href=href)), drawn.plan.name))  # noqa: S704 (SVG of our own)


def drawing_beside(drawn: DrawnUp, design_id: int, panel: str, section: str) -> Markup:
    """One panel, or else the whole garment: one section as it will be worked, the others links to their pages."""
    href = {key: way for key, way in ways_to_change(drawn, design_id).items() if key != section}
    plan = drawn.plan
    shown = shown_panels(plan, Progress(done={section: 1.0} if section else {}, href=href))
    for one in shown:
        if one.key == panel:
            return Markup(panel_drawing(one, "panel-beside", length=drawn_length))  # noqa: S704 (SVG of our own)
    return Markup(garment_map(shown, plan.name, "garment-beside"))  # noqa: S704 (SVG of our own)


def panels_shown(drawn: DrawnUp) -> tuple[PanelShown, ...]:
    """Every panel with its drawing and the sections it owns."""
    plan = drawn.plan
    shown = {panel.key: panel for panel in shown_panels(plan)}
    return tuple(
        PanelShown(
            panel.key,
            panel.name,
            Markup(panel_drawing(shown[panel.key], f"panel-{at}", length=drawn_length)),  # noqa: S704 (SVG of our own)
            panel.block_width_mm,
            panel.block_height_mm,
            panel.cloth,
            bool(drawn.design.panel(panel.key).mirror_of),
            tuple(one for one in plan.sections if one.owner == "panel" and one.panels == (panel.key,)),
        )
        for at, panel in enumerate(plan.panels)
    )


def joined_sections(plan: GarmentPlan) -> tuple[SectionPlan, ...]:
    """The sections worked once the panels are joined."""
    return tuple(section for section in plan.sections if section.owner == "garment")


def findings_of(sections: Sequence[SectionPlan]) -> tuple[Told, ...]:
    """What was noticed about these sections, what waits first, mirrors told once."""
    told = [
        Told(section.key, section.name, finding, dict(section.design.explained).get(finding.code, ""))
        for section in sections
        if not section.mirror_of
        for finding in section.findings
    ]
    return tuple(sorted(told, key=lambda one: not one.finding.waits))
