"""The work slip of one section: what lies beside the work, with its counts, its steps and how its knot is made."""

from collections.abc import Iterator

from fastapi import APIRouter
from fastapi.responses import Response

from service.drawing.garment_map import garment_map
from service.drawing.stitch_path import stitch_path
from service.drawing.stitch_words import stitch_order
from service.errors import NotFound
from service.languages.spoken import Typed, said
from service.papers.paper import Drawing, Ledger, Paper, Part
from service.reckoning.band_kinds import BAND_KINDS
from service.reckoning.operations import operation_named
from service.records.db import Reading
from service.records.queries.drawn import drawn_rows
from service.records.queries.garments import Parts, parts_of
from service.records.tables import Garment, Section, Step
from service.studio.sign_in import Person
from service.web.amount_words import counted
from service.web.deps import Desk, Id, Reads, SignedIn, SignedInDesk
from service.web.drawn import shown_panels
from service.web.paper_pages import print_paper, show_paper
from service.web.papers import seen_garment
from service.web.step_words import Work, drawn_section, facts_of, work_direction
from service.web.words import day, depth, kind, measure, operation, per

router = APIRouter(include_in_schema=False, prefix="/sections")
COUNT_OUT = (
    "Count needles and pins out before the first stitch and in after the last; a garment with one missing stays in the "
    "workroom (common practice, no source)."
)


@router.get("/{section_id}/slip")
def show_slip(desk: SignedInDesk, person: SignedIn, db: Reads, section_id: Id) -> Response:
    section, garment = _found(db, person, section_id)
    back = (f"/garments/{garment.id}#section-{section.id}", garment.name)
    return show_paper(desk, _slip(desk, db, section, garment), f"/sections/{section_id}/slip", back)


@router.get("/{section_id}/slip.pdf")
def print_slip(desk: SignedInDesk, person: SignedIn, db: Reads, section_id: Id, paper: str = "a4") -> Response:
    section, garment = _found(db, person, section_id)
    return print_paper(_slip(desk, db, section, garment), paper, f"slip-{section_id}")


def _found(db: Reading, person: Person, section_id: int) -> tuple[Section, Garment]:
    section = db.get(Section, section_id)
    if section is None:
        raise NotFound("There is no such section among those you may see.")
    return section, seen_garment(db, person, section.garment_id)


def _slip(desk: Desk, db: Reading, section: Section, garment: Garment) -> Paper:
    assert desk.studio
    parts = parts_of(db, section.garment_id)
    steps = parts.steps_of(section)
    panel = next((panel.name for panel in parts.panels if panel.id == section.panel_id), said("the joined garment"))
    shown = shown_panels(drawn_rows(db, [section.garment_id])[section.garment_id], section.id)
    units = (desk.studio.length_unit, desk.studio.count_unit)
    return Paper(
        title=f"Work slip: {section.name}",
        studio=desk.studio.name,
        told=f"{kind(section.kind).capitalize()} of {garment.name}, on {panel}; wanted on {day(garment.wanted_on)}.",
        parts=(
            Part(facts=(*_counts(section, units), *_manner(garment, section, parts))),
            Part("In this order", ledger=_steps(steps), points=tuple(_irreversible(steps))),
            *_stitch(section),
            Part(
                "Where it lies", drawings=(Drawing(garment_map(shown, garment.name, "slip"), f"{garment.name}", 110),)
            ),
            Part("Cautions", points=(*_own_cautions(garment, section), COUNT_OUT)),
        ),
    )


def _counts(section: Section, units: tuple[str, str]) -> Iterator[tuple[str, str]]:
    length_unit, count_unit = units
    if section.withdrawn_threads and section.width_um:
        yield "Withdraw", f"{section.withdrawn_threads} threads, {depth(section.width_um, length_unit)} deep"
    if section.standing_threads and section.bundles:
        yield "Standing", f"{section.standing_threads} threads in {section.bundles} bundles of {section.bundle_threads}"
    if section.bundle_sizes:
        yield "Odd threads", f"spread: {section.bundle_sizes}"
    if section.withdrawn_per_cm and section.standing_per_cm:
        withdrawn, standing = per(section.withdrawn_per_cm, count_unit), per(section.standing_per_cm, count_unit)
        yield "Cloth", f"{withdrawn} withdrawn, {standing} standing"
    if section.length_um:
        yield "Length", measure(section.length_um, length_unit)


def _manner(garment: Garment, section: Section, parts: Parts) -> Iterator[tuple[str, str]]:
    """What every step of it asks to hold to, each said once."""
    said: dict[str, str] = {}
    for step in parts.steps_of(section):
        for word, value in facts_of(Work(garment, step, None, section)):
            said.setdefault(word, value)
    yield from ((word, value) for word, value in said.items() if word != "Threads")


def _steps(steps: list[Step]) -> Ledger:
    return Ledger(
        ("Step", "Of", "Done", "Left"),
        tuple(
            (
                operation(step.operation).capitalize(),
                counted(step.quantity_tenths, step.unit),
                counted(step.done_tenths, step.unit),
                counted(step.quantity_tenths - step.done_tenths, step.unit),
            )
            for step in steps
        ),
        amounts=(1, 2, 3),
        ticked=True,
    )


def _irreversible(steps: list[Step]) -> Iterator[str]:
    for step in steps:
        if operation_named(step.operation).cannot_be_undone and step.done_tenths < step.quantity_tenths:
            yield f"{operation(step.operation).capitalize()}: cannot be undone. Count twice before the first."


def _stitch(section: Section) -> Iterator[Part]:
    if section.kind not in BAND_KINDS:
        return
    order = stitch_order(section.kind, section.catch_threads)
    drawing = stitch_path(section.kind, work_direction(section), section.catch_threads)
    told = tuple(f"{at}. {sentence}" for at, sentence in enumerate(order.steps, 1))
    then = (order.then,) if order.then else ()
    yield Part(
        "The knot, in its order",
        drawings=(Drawing(drawing, "The thread's way round a bundle", 100),),
        text=(*told, *then),
    )


def _own_cautions(garment: Garment, section: Section) -> tuple[str, ...]:
    drawn = drawn_section(garment.document, section.key)
    return () if drawn is None else tuple(map(Typed, drawn.cautions))
