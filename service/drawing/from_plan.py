"""Panels to draw, taken from a garment's plan and from how much of each section is done."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from service.drawing.parts import parts, worked_from
from service.drawing.shown import ShownPanel, ShownSection
from service.reckoning.plans import GarmentPlan, PanelPlan, SectionPlan


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a garment is: by section key the fraction done and the page's address, and who needs a hand now."""

    done: Mapping[str, float] = field(default_factory=dict)
    href: Mapping[str, str] = field(default_factory=dict)
    needs_hand: Collection[str] = ()


def shown_panels(plan: GarmentPlan, progress: Progress | None = None) -> tuple[ShownPanel, ...]:
    """Return the panels of a planned garment to draw; without `progress` nothing is begun.

    A section that lies on several panels is worked through them in the order of its places.
    """
    return tuple(_panel(plan, panel, progress or Progress()) for panel in plan.panels)


def _panel(plan: GarmentPlan, panel: PanelPlan, progress: Progress) -> ShownPanel:
    return ShownPanel(
        panel.key,
        panel.name,
        panel.side,
        panel.outline,
        panel.block_width_mm,
        panel.block_height_mm,
        panel.at_mm,
        tuple(
            _section(section, at, progress)
            for section in plan.sections
            for at, place in enumerate(section.places)
            if place.panel == panel.key
        ),
    )


def _section(section: SectionPlan, at: int, progress: Progress) -> ShownSection:
    done = progress.done.get(section.key, 0.0)
    part = parts(section.places, section.direction, section.after.bundles or 0, done)[at]
    return ShownSection(
        section.key,
        section.name,
        section.kind,
        section.places[at].place,
        section.direction,
        part.bundles,
        part.done_fraction,
        needs_hand=section.key in progress.needs_hand and part.reached,
        href=progress.href.get(section.key, ""),
        worked_from=worked_from(section.design.work_direction, section.design.side_worked),
        pair_rows=section.design.pair_rows,
        closed_round=section.design.closed_round,
    )
