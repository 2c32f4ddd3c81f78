"""Making a garment: a design planned on chosen cloths becomes a garment with panels, sections and steps."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime

from sqlmodel import select

from service.errors import Conflict, NotFound, Unreadable
from service.reckoning.carry import plan_garment
from service.reckoning.design_text import read_design
from service.reckoning.design_writing import write_design
from service.reckoning.designs import ClothCounts, Design
from service.reckoning.guesses import STATED, Guesses, seconds_for
from service.reckoning.plans import GarmentPlan, PanelPlan, SectionChoice, SectionFigures, SectionPlan
from service.reckoning.section_work import felt_count
from service.reckoning.steps import StepPlan
from service.records import tables
from service.records.db import Reading, Writing
from service.records.tables import Garment, Panel, Section, Step
from service.studio.cloth import CountsNow, current_counts
from service.studio.commissions import held_commission
from service.studio.guesses import guesses_of
from service.studio.places import write_outline, write_places
from service.studio.sizes import in_size
from service.studio.standing import resummarise

UM_PER_MM = 1000


@dataclass(frozen=True, slots=True)
class MakingAsk:
    """Which design is made for which commission, on which cloths, with what choices.

    `cloths` names a cloth for each role of the design, or for one panel by its key, which goes before its role.
    `size_cm` makes it in another of its sizes than it is drawn up in.
    """

    commission_id: int
    design_id: int
    cloths: Mapping[str, int]
    choices: Mapping[str, SectionChoice] = field(default_factory=dict)
    name: str = ""
    size_cm: int | None = None


@dataclass(frozen=True, slots=True)
class Drafted:
    """A garment as it would be made: its design, its plan, the cloth of every panel and role."""

    design: Design
    plan: GarmentPlan
    cloth_ids: Mapping[str, int]
    guesses: Guesses = field(default_factory=lambda: STATED)


def draft(
    db: Reading | Writing,
    design_id: int,
    cloths: Mapping[str, int],
    choices: Mapping[str, SectionChoice],
    size_cm: int | None = None,
) -> Drafted:
    """Plan a design on chosen cloths without keeping anything."""
    row = db.get(tables.Design, design_id)
    if row is None:
        raise NotFound("There is no such design.")
    design = in_size(read_design(row.document), size_cm)
    counts = {name: _counts(db, name, cloth_id) for name, cloth_id in cloths.items()}
    missing = [cloth.role for cloth in design.cloths if cloth.role not in cloths]
    if missing:
        raise Unreadable({f"cloth.{role}": "Choose a cloth." for role in missing})
    guesses = guesses_of(db)
    return Drafted(design, plan_garment(design, counts, choices, guesses), dict(cloths), guesses)


def _counts(db: Reading | Writing, name: str, cloth_id: int) -> ClothCounts:
    now: CountsNow = current_counts(db, cloth_id)
    if now.warp is None or now.weft is None:
        raise Unreadable({f"cloth.{name}": "Count this cloth's warp and weft first: nothing is planned on a guess."})
    return ClothCounts(now.warp.threads_per_cm, now.weft.threads_per_cm)


def make_garment(db: Writing, ask: MakingAsk, at: datetime) -> Garment:
    """Make the garment: refused while any section waits for a choice, or the commission is closed or called off."""
    commission = held_commission(db, ask.commission_id)
    if commission.state in {"closed", "called off"}:
        raise Conflict(f"This commission is {commission.state}; nothing more is made for it.")
    drafted = draft(db, ask.design_id, ask.cloths, ask.choices, ask.size_cm)
    waiting = [section.name for section in drafted.plan.sections if section.waits]
    if waiting:
        raise Conflict(f"Choose first what to do about: {', '.join(waiting)}.")
    row = db.get_one(tables.Design, ask.design_id)
    garment = Garment(
        commission_id=ask.commission_id,
        design_id=ask.design_id,
        name=ask.name or _numbered(db, ask.commission_id, drafted.design.name),
        size=drafted.design.size,
        document=row.document if ask.size_cm is None else write_design(drafted.design),
        wanted_on=commission.wanted_on,
        start_by=commission.wanted_on,
        created_at=at,
    )
    db.add(garment)
    db.flush()
    assert garment.id is not None
    _add_parts(db, garment.id, drafted)
    resummarise(db, garment.id)
    return garment


def _numbered(db: Writing, commission_id: int, name: str) -> str:
    """The design's name, numbered when the commission has a garment of that name already."""
    taken = set(db.exec(select(Garment.name).where(Garment.commission_id == commission_id)))
    return next(tried for tried in _names(name) if tried not in taken)


def _names(name: str) -> Iterator[str]:
    yield name
    number = 2
    while True:
        yield f"{name} {number}"
        number += 1


def _add_parts(db: Writing, garment_id: int, drafted: Drafted) -> None:
    plan = drafted.plan
    panels = {panel.key: panel_row(garment_id, position, panel, drafted) for position, panel in enumerate(plan.panels)}
    db.add_all(panels.values())
    db.flush()
    sections = {
        section.key: section_row(garment_id, position, section, panels)
        for position, section in enumerate(plan.sections)
    }
    db.add_all(sections.values())
    db.flush()
    db.add_all(step_rows(garment_id, drafted, panels, sections))
    db.flush()


def panel_row(garment_id: int, position: int, plan: PanelPlan, drafted: Drafted) -> Panel:
    """The record of one panel as planned."""
    return Panel(
        garment_id=garment_id,
        key=plan.key,
        name=plan.name,
        position=position,
        cloth_id=drafted.cloth_ids.get(plan.key, drafted.cloth_ids[plan.cloth]),
        cloth_role=plan.cloth,
        side=plan.side,
        at_x_um=um(plan.at_mm[0]),
        at_y_um=um(plan.at_mm[1]),
        warp_per_cm=plan.counts.warp_per_cm,
        weft_per_cm=plan.counts.weft_per_cm,
        block_width_um=um(plan.block_width_mm),
        block_height_um=um(plan.block_height_mm),
        cut_width_um=um(plan.cut_width_mm),
        cut_height_um=um(plan.cut_height_mm),
        outline=write_outline(plan.outline),
    )


def section_row(garment_id: int, position: int, plan: SectionPlan, panels: Mapping[str, Panel]) -> Section:
    """The record of one section as planned."""
    row = Section(
        garment_id=garment_id,
        panel_id=panels[plan.panels[0]].id if len(plan.panels) == 1 else None,
        key=plan.key,
        name=plan.name,
        kind=plan.kind,
        owner=plan.owner,
        position=position,
        mirror_of=plan.mirror_of,
    )
    fill_section(row, plan)
    return row


def fill_section(row: Section, plan: SectionPlan) -> None:
    """Write a section's figures, choices and places into its record."""
    drawn_up = plan.design
    row.direction = plan.direction
    fill_figures(row, plan.after)
    row.places = write_places(plan.places)
    if drawn_up.is_band and plan.direction is not None:
        row.withdrawn_per_cm = plan.counts.withdrawn_per_cm(plan.direction)
        row.standing_per_cm = plan.counts.standing_per_cm(plan.direction)
        row.depth_choice, row.bundle_choice = plan.choice.depth, plan.choice.bundle
        row.left_over_way = plan.left_over
        row.stop_lines = drawn_up.stop_lines
        row.clip_inside_threads = drawn_up.clip_inside_threads
    row.accepted = plan.choice.accepted
    row.catch_threads = drawn_up.catch_threads
    row.side_worked = drawn_up.side_worked or ""
    row.work_direction = drawn_up.work_direction or ""
    row.loop_direction = drawn_up.loop_direction or ""
    row.hoop = drawn_up.hoop
    row.thread = drawn_up.thread
    row.notes = drawn_up.note


def fill_figures(row: Section, figures: SectionFigures) -> None:
    """Write a section's figures alone; used again when it is recounted."""
    row.withdrawn_threads = figures.withdraw_threads
    row.standing_threads = figures.standing_threads
    row.bundle_threads = figures.bundle_threads
    row.bundles = figures.bundles
    row.bundle_sizes = " ".join(str(size) for size in figures.bundle_sizes)
    row.width_um = None if figures.width_mm is None else um(figures.width_mm)
    row.length_um = None if figures.length_mm is None else um(figures.length_mm)


def step_rows(
    garment_id: int, drafted: Drafted, panels: Mapping[str, Panel], sections: Mapping[str, Section]
) -> list[Step]:
    """The records of all steps, in the order in which the garment is worked."""
    rows: list[Step] = []
    for step, panel, section in in_order(drafted.plan):
        row = step_row(garment_id, step, section, drafted.guesses)
        row.panel_id = None if panel is None else panels[panel.key].id
        row.section_id = None if section is None else sections[section.key].id
        row.position = len(rows)
        rows.append(row)
    return rows


def in_order(plan: GarmentPlan) -> Iterator[tuple[StepPlan, PanelPlan | None, SectionPlan | None]]:
    """The steps of a garment as it is worked, each with its panel and section where it has one."""
    for panel in plan.panels:
        own = [section for section in plan.sections if section.owner == "panel" and section.panels == (panel.key,)]
        yield from ((step, panel, None) for step in panel.steps.before)
        yield from ((step, panel, section) for section in own for step in section.steps)
        yield from ((step, panel, None) for step in panel.steps.after)
    for section in plan.sections:
        if section.owner == "garment":
            alone = plan.panel(section.panels[0]) if len(section.panels) == 1 else None
            yield from ((step, alone, section) for step in section.steps)


def step_row(garment_id: int, step: StepPlan, section: SectionPlan | None, guesses: Guesses = STATED) -> Step:
    """The record of one step as planned: its operation, amount, guessed time a unit, thread length."""
    length_mm = section.after.length_mm if section is not None and step.operation == "withdraw" else None
    return Step(
        garment_id=garment_id,
        position=0,
        operation=step.operation,
        unit=step.unit,
        quantity_tenths=round(step.quantity * 10),
        unit_ms=unit_ms(step.operation, section, length_mm, guesses),
        thread_length_um=None if length_mm is None else um(length_mm),
        note=step.note,
    )


def unit_ms(operation: str, section: SectionPlan | None, thread_length_mm: float | None, guesses: Guesses) -> int:
    """The guessed milliseconds of one unit on this section's cloth."""
    fineness = None if section is None else felt_count(operation, section.direction, section.counts)
    return guessed_ms(operation, fineness, thread_length_mm, guesses)


def guessed_ms(operation: str, threads_per_cm: float | None, thread_length_mm: float | None, guesses: Guesses) -> int:
    """The guessed milliseconds of one unit on a cloth of that fineness."""
    return round(seconds_for(operation, 1, threads_per_cm, thread_length_mm, guesses) * 1000)


def um(length_mm: float) -> int:
    """A length as whole micrometres."""
    return round(length_mm * UM_PER_MM)
