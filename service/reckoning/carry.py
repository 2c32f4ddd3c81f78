"""Making a design on this cloth: every count goes over through its measured width, and every end says what is odd."""

from collections.abc import Mapping
from dataclasses import replace

from service.reckoning.asked import Wrong
from service.reckoning.counts import threads_in, width_of
from service.reckoning.design_faults import faults_of
from service.reckoning.designs import ClothCounts, Design, Faults, PanelDesign, SectionDesign
from service.reckoning.findings import Finding
from service.reckoning.guesses import STATED, Guesses, seconds_for
from service.reckoning.mirrors import drawn_up
from service.reckoning.on_cloth import OnCloth, WorkedSection, as_drawn, carried, cut_size, worked
from service.reckoning.outlines import outline_points
from service.reckoning.plans import (
    GarmentPlan,
    PanelPlace,
    PanelPlan,
    SectionChoice,
    SectionFigures,
    SectionPlan,
    SpacePlan,
)
from service.reckoning.section_findings import findings_beside, is_answered
from service.reckoning.section_work import seconds_of
from service.reckoning.steps import panel_steps

AS_DRAWN = SectionChoice()


def plan_garment(
    design: Design,
    cloths: Mapping[str, ClothCounts],
    choices: Mapping[str, SectionChoice] | None = None,
    guesses: Guesses = STATED,
) -> GarmentPlan:
    """Return the design planned on these cloths, each section beside what it was on the design's own.

    `cloths` gives the counts by panel key, or by the cloth's role for every panel and binding of that role;
    `choices` are by section key: mirrored sections take one choice, given under any of their keys. A section
    without one keeps its width and the threads of its bundles, and takes the design's own way with odd threads.
    `guesses` are the seconds of a unit that its times are reckoned by.
    Raises Faults for a design that is not sound, Wrong for a cloth or section that is missing.
    """
    faults = faults_of(design)
    if faults:
        raise Faults(faults)
    whole = drawn_up(design)
    chosen = _choices_by_section(whole, choices or {})
    before = as_drawn(whole)
    after = carried(before, _by_panel(whole, cloths), cloths, chosen)
    before_works = {section.key: worked(before, section, None) for section in whole.every_section}
    after_works = {
        section.key: worked(after, section, chosen[section.key].left_over) for section in whole.every_section
    }
    beside = findings_beside(after, after_works)
    planned = (
        _section_plan(section, chosen[section.key], before_works[section.key], after_works[section.key], beside)
        for section in whole.every_section
    )
    sections = tuple(
        replace(
            section,
            before=_timed(before_works[section.key], section, guesses),
            after=_timed(after_works[section.key], section, guesses),
        )
        for section in planned
    )
    panel_seconds = len(whole.panels) * _panel_seconds(guesses)
    return GarmentPlan(
        design=whole.key,
        name=whole.name,
        panels=tuple(_panel_plan(after, panel, after_works) for panel in whole.panels),
        sections=sections,
        spaces=_space_plans(before, after),
        knots_before=sum(section.before.knots for section in sections),
        knots_after=sum(section.after.knots for section in sections),
        seconds_before=panel_seconds + sum(section.before.seconds for section in sections),
        seconds_after=panel_seconds + sum(section.after.seconds for section in sections),
        waits=any(section.waits for section in sections),
    )


def own_cloths(design: Design) -> dict[str, ClothCounts]:
    """Return the counts of the cloths a design was drawn up for, by role: what `plan_garment` wants."""
    return {cloth.role: cloth.counts for cloth in design.cloths}


def _choices_by_section(whole: Design, choices: Mapping[str, SectionChoice]) -> dict[str, SectionChoice]:
    first = {section.key: section.mirror_of or section.key for section in whole.every_section}
    by_first: dict[str, SectionChoice] = {}
    for key, choice in choices.items():
        if key not in first:
            raise Wrong(f"choices.{key}", f"there is no section called {key!r}")
        if by_first.setdefault(first[key], choice) != choice:
            raise Wrong(f"choices.{key}", "mirrored sections take one choice")
    return {key: by_first.get(origin, AS_DRAWN) for key, origin in first.items()}


def _by_panel(whole: Design, cloths: Mapping[str, ClothCounts]) -> dict[str, ClothCounts]:
    found = {}
    for panel in whole.panels:
        counts = cloths.get(panel.key, cloths.get(panel.cloth))
        if counts is None:
            raise Wrong(f"cloths.{panel.cloth}", f"choose a cloth for {panel.name}")
        found[panel.key] = counts
    return found


def _section_plan(
    section: SectionDesign,
    choice: SectionChoice,
    before: WorkedSection,
    after: WorkedSection,
    beside: Mapping[str, tuple[Finding, ...]],
) -> SectionPlan:
    findings = tuple(dict.fromkeys((*after.findings, *beside.get(section.key, ()))))
    return SectionPlan(
        key=section.key,
        name=section.name,
        kind=section.kind,
        owner=section.owner,
        panels=tuple(placement.panel for placement in section.placements),
        mirror_of=section.mirror_of,
        direction=section.direction,
        counts=after.counts,
        before=before.work.figures,
        after=after.work.figures,
        error_mm=_error_mm(before, after),
        choice=choice,
        left_over=after.work.left_over,
        left_over_choices=after.work.choices,
        findings=findings,
        places=tuple(PanelPlace(laid.panel, laid.place) for laid in after.laid),
        steps=after.work.steps,
        waits=any(not is_answered(finding, choice) for finding in findings),
        design=section,
    )


def _error_mm(before: WorkedSection, after: WorkedSection) -> float:
    """How much wider the withdrawn strip came out than drawn up; a plain tuck, how much deeper."""
    was, now = before.work.figures, after.work.figures
    if before.depth is None or after.depth is None:
        return 0.0
    if was.withdraw_threads is None:
        return (now.depth_mm or 0.0) - (was.depth_mm or 0.0)
    return (now.width_mm or 0.0) - (was.width_mm or 0.0)


def _panel_plan(after: OnCloth, panel: PanelDesign, works: Mapping[str, WorkedSection]) -> PanelPlan:
    width_mm, height_mm = cut_size(after, panel, works)
    return PanelPlan(
        key=panel.key,
        name=panel.name,
        side=panel.side,
        cloth=panel.cloth,
        counts=after.counts[panel.key],
        block_width_mm=panel.block_width_mm,
        block_height_mm=panel.block_height_mm,
        cut_width_mm=width_mm,
        cut_height_mm=height_mm,
        at_mm=panel.at_mm,
        outline=outline_points(panel),
        steps=panel_steps(),
    )


def _timed(work: WorkedSection, section: SectionPlan, guesses: Guesses) -> SectionFigures:
    figures = work.work.figures
    seconds = seconds_of(work.work.steps, section.direction, work.counts, figures.length_mm or 0, guesses)
    return replace(figures, seconds=seconds)


def _panel_seconds(guesses: Guesses) -> float:
    steps = panel_steps()
    return sum(seconds_for(step.operation, step.quantity, guesses=guesses) for step in (*steps.before, *steps.after))


def _space_plans(before: OnCloth, after: OnCloth) -> tuple[SpacePlan, ...]:
    found = []
    for panel, spaces in before.spaces.items():
        for space in spaces:
            direction = space.second.direction
            was = before.counts[panel].withdrawn_per_cm(direction)
            now = after.counts[panel].withdrawn_per_cm(direction)
            threads = threads_in(space.width_mm, now)
            after_mm = width_of(threads, now)
            found.append(
                SpacePlan(
                    panel=panel,
                    direction=direction,
                    edge=space.second.edge,
                    first=space.first,
                    second=space.second.section,
                    before_threads=threads_in(space.width_mm, was),
                    before_mm=space.width_mm,
                    after_threads=threads,
                    after_mm=after_mm,
                    error_mm=after_mm - space.width_mm,
                )
            )
    return tuple(found)
