"""Panels to draw, taken from a garment's plan and from how much of each section is done."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from service.drawing.shown import End, ShownPanel, ShownSection
from service.reckoning.outlines import length_of
from service.reckoning.plans import GarmentPlan, PanelPlan, SectionPlan
from service.reckoning.shapes import Place


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
    shares = [_extent(place.place, section) for place in section.places]
    whole = sum(shares)
    start, end = (sum(shares[:at]) / whole, sum(shares[: at + 1]) / whole) if whole else (0.0, 1.0)
    done = min(1.0, max(0.0, progress.done.get(section.key, 0.0)))
    bundles = section.after.bundles or 0
    return ShownSection(
        section.key,
        section.name,
        section.kind,
        section.places[at].place,
        section.direction,
        round(bundles * end) - round(bundles * start),
        _within(done, start, end),
        needs_hand=section.key in progress.needs_hand and (start <= done < end or end == done == 1),
        href=progress.href.get(section.key, ""),
        worked_from=_worked_from(section),
        pair_rows=section.design.pair_rows,
        closed_round=section.design.closed_round,
    )


def _within(done: float, start: float, end: float) -> float:
    """How much of the part from `start` to `end` lies within the first `done` of the whole."""
    if end <= start:
        return 1.0 if done >= 1 else 0.0
    return min(1.0, max(0.0, (done - start) / (end - start)))


def _extent(place: Place, section: SectionPlan) -> float:
    if place.strips:
        return sum(strip.height if section.direction == "down" else strip.width for strip in place.strips)
    return sum(length_of(line) for line in place.lines) or len(place.points)


def _worked_from(section: SectionPlan) -> End:
    """The end the work begins at, seen from the right side: what runs left to right on the wrong side runs back."""
    leftwards = section.design.work_direction == "right to left"
    wrong_side = section.design.side_worked == "wrong"
    return "end" if leftwards != wrong_side else "start"
