"""Pages of changing a design: its facts and cloths, the order of its parts, its whole text at once."""

from fastapi import APIRouter
from fastapi.responses import Response

from service.errors import Conflict
from service.reckoning.asked import Wrong
from service.reckoning.design_text import design_of, read_design
from service.reckoning.designs import Design, Faults
from service.records import tables
from service.records.db import Reading, Writing
from service.studio import designs
from service.studio.design_parts import (
    Path,
    Table,
    free_key,
    moved_part,
    part_at,
    place_in_words,
    tables_of,
    without_part,
)
from service.studio.guesses import guesses_of
from service.studio.sign_in import Person
from service.web import design_pages
from service.web.deps import Desk, Id, Now, Owner, OwnerDesk, Reads, Writes
from service.web.design_fields import Field
from service.web.design_forms import form_of, part_from, plain_number
from service.web.forms import Form, Typed
from service.web.words import count_number

router = APIRouter(include_in_schema=False, prefix="/designs/{design_id}")

FACTS = (
    Field("name", "Name of the design", "line", needed=True),
    Field("size", "Size", "line", "As you say it to a client: 3 months, chest 46 cm."),
    Field("note", "Note", "long"),
)
COUNTS = {"warp_per_cm": "Warp threads", "weft_per_cm": "Weft threads"}
ADDED = {"name": "added_name", "warp_per_cm": "added_warp", "weft_per_cm": "added_weft"}


@router.get("/change")
def show_change(desk: OwnerDesk, db: Reads, design_id: Id) -> Response:
    row = designs.may_be_changed(designs.design_with(db, design_id))
    return _hub(desk, db, row, _facts_form(desk, tables_of(row.document)))


@router.post("/change")
def change_facts(desk: OwnerDesk, person: Owner, form: Typed, db: Writes, at: Now, design_id: Id) -> Response:
    row = designs.may_be_changed(designs.design_with(db, design_id))
    table, added = _with_facts(desk, form, tables_of(row.document))
    if not form.wrong:
        try:
            new = designs.change_design(db, design_id, design_of(table), at, person.id)
            return desk.go(f"/designs/{new.id}/change")
        except Faults as faults:
            _tell_facts(form, faults, table, added)
    return _hub(desk, db, row, form, 422)


def _facts_form(desk: Desk, table: Table) -> Form:
    assert desk.studio
    values = form_of({name: table[name] for name in ("name", "size", "note") if name in table}).values
    for role, cloth in table["cloths"].items():
        values[f"cloths.{role}.name"] = cloth["name"]
        for count in COUNTS:
            values[f"cloths.{role}.{count}"] = count_number(cloth[count], desk.studio.count_unit)
    return Form(values)


def _with_facts(desk: Desk, form: Form, table: Table) -> tuple[Table, str]:
    """The tables with the facts as typed, and the name in the text of the cloth that was added, if one was."""
    cloths: Table = {}
    for role, cloth in table["cloths"].items():
        if not form.ticked(f"without.{role}"):
            named = form.text(f"cloths.{role}.name", called="a name for the cloth")
            counts = {count: _count(desk, form, f"cloths.{role}.{count}", cloth[count]) for count in COUNTS}
            cloths[role] = {"name": named, **counts}
    added = ""
    if any(form.raw(name) for name in ("added_role", *ADDED.values())):
        added = free_key(form.text("added_role", called="what the cloth is for"), tuple(table["cloths"]), "cloth")
        named = form.text("added_name", called="a name for the cloth")
        counts = {count: _count(desk, form, ADDED[count], None) for count in COUNTS}
        cloths[added] = {"name": named, **counts}
    facts = part_from(form, FACTS)
    kept = {name: value for name, value in table.items() if name not in ("name", "size", "note", "cloths")}
    return {**kept, **facts, "cloths": cloths}, added


def _count(desk: Desk, form: Form, field: str, before: float | None) -> float:
    """A count as typed, per cm; one that was not touched stays what it is to the last decimal."""
    assert desk.studio
    unit = desk.studio.count_unit
    if before is not None and form.raw(field) == count_number(before, unit):
        return before
    typed = form.decimal(field, called="the threads", most=1000, above=True)
    return 1 if typed is None else plain_number(round(float(typed) / (2.54 if unit == "in" else 1), 6))


def _tell_facts(form: Form, faults: Faults, table: Table, added: str) -> None:
    names = {f"cloths.{role}.{count}": words for role in table["cloths"] for count, words in COUNTS.items()}
    names |= {"name": "Name of the design", "size": "Size", "note": "Note"}
    for wrong in faults.wrongs:
        own = wrong.field.removeprefix(f"cloths.{added}.")
        if added and own != wrong.field and own in ADDED:
            form.fault(ADDED[own], f"{COUNTS.get(own, 'The cloth')}: {wrong.sentence}.")
        elif wrong.field in names:
            form.fault(wrong.field, f"{names[wrong.field]}: {wrong.sentence}.")
        else:
            form.fault("", f"{place_in_words(table, wrong.field)}: {wrong.sentence}.")


def _hub(desk: Desk, db: Reading | Writing, row: tables.Design, form: Form, status: int = 200) -> Response:
    assert row.id is not None
    drawn = designs.drawn_up(row.document, tuple(guesses_of(db).items()))
    return desk.page(
        "designs/change.html",
        "designs",
        status=status,
        row=row,
        form=form,
        facts=FACTS,
        design=drawn.design,
        drawing=design_pages.drawing_to_change(drawn, row.id),
        told=design_pages.findings_of(drawn.plan.sections),
        in_use=designs.is_in_use(db, row.id),
        even=_even(drawn.design),
    )


def _even(design: Design) -> set[str]:
    """The sections that gain nothing by a mirror: mirrors, those that have one beside them, those that lie even."""
    mirrored = {
        one.mirror_of
        for one in design.every_section
        if one.mirror_of and one.key.rpartition(".")[0] == one.mirror_of.rpartition(".")[0]
    }
    return mirrored | {
        one.key
        for one in design.every_section
        if one.mirror_of
        or (one.direction == "across" and all(lies.from_mm is None and lies.to_mm is None for lies in one.placements))
    }


@router.post("/panels/{key}/move")
def move_panel(person: Owner, desk: OwnerDesk, form: Typed, db: Writes, at: Now, design_id: Id, key: str) -> Response:
    return _moved(desk, person, db, at=at, design_id=design_id, path=("panels", key), up=form.raw("way") == "up")


@router.post("/sections/{key}/move")
def move_section(person: Owner, desk: OwnerDesk, form: Typed, db: Writes, at: Now, design_id: Id, key: str) -> Response:
    return _moved(desk, person, db, at=at, design_id=design_id, path=path_of(key), up=form.raw("way") == "up")


@router.post("/panels/{key}/take-out")
def take_panel_out(person: Owner, desk: OwnerDesk, db: Writes, at: Now, design_id: Id, key: str) -> Response:
    return _taken_out(desk, person, db, at=at, design_id=design_id, path=("panels", key))


@router.post("/sections/{key}/take-out")
def take_section_out(person: Owner, desk: OwnerDesk, db: Writes, at: Now, design_id: Id, key: str) -> Response:
    return _taken_out(desk, person, db, at=at, design_id=design_id, path=path_of(key))


def path_of(key: str) -> Path:
    """Where a section stands in the text, by its key.

    >>> path_of("front.hem"), path_of("neck")
    (('panels', 'front', 'sections', 'hem'), ('sections', 'neck'))
    """
    panel, dot, name = key.rpartition(".")
    return ("panels", panel, "sections", name) if dot else ("sections", name)


def _moved(desk: Desk, person: Person, db: Writing, *, at: Now, design_id: int, path: Path, up: bool) -> Response:
    row = designs.may_be_changed(designs.design_with(db, design_id))
    table = moved_part(tables_of(row.document), path, up=up)
    new = designs.change_design(db, design_id, design_of(table), at, person.id)
    return desk.go(f"/designs/{new.id}/change#parts")


def _taken_out(desk: Desk, person: Person, db: Writing, *, at: Now, design_id: int, path: Path) -> Response:
    row = designs.may_be_changed(designs.design_with(db, design_id))
    before = tables_of(row.document)
    name = part_at(before, path)["name"]
    try:
        design = design_of(without_part(before, path))
    except Faults as faults:
        raise Conflict(_why_it_stays(name, before, faults)) from faults
    new = designs.change_design(db, design_id, design, at, person.id)
    return desk.go(f"/designs/{new.id}/change#parts")


def _why_it_stays(name: str, table: Table, faults: Faults) -> str:
    if any(wrong.field == "panels" for wrong in faults.wrongs):
        return f"{name} is the only panel, and a design needs one: add another before you take this one out."
    others = ", ".join(dict.fromkeys(place_in_words(table, wrong.field) for wrong in faults.wrongs))
    return f"{name} is still needed by: {others}. Change or take out those first."


@router.get("/change-text")
def show_text(desk: OwnerDesk, db: Reads, design_id: Id) -> Response:
    row = designs.may_be_changed(designs.design_with(db, design_id))
    return _text_page(desk, row, Form({"text": row.document}))


@router.post("/change-text")
def change_text(desk: OwnerDesk, person: Owner, form: Typed, db: Writes, at: Now, design_id: Id) -> Response:
    row = designs.may_be_changed(designs.design_with(db, design_id))
    try:
        design = read_design(form.values.get("text", "").replace("\r\n", "\n"))
    except Faults as faults:
        return _text_page(desk, row, form, faults.wrongs, 422)
    new = designs.change_design(db, design_id, design, at, person.id)
    return desk.go(f"/designs/{new.id}")


def _text_page(
    desk: Desk, row: tables.Design, form: Form, faults: tuple[Wrong, ...] = (), status: int = 200
) -> Response:
    if faults:
        form.fault("text", "This text cannot be kept. What is wrong stands beside it, each thing by its place.")
    drawing = design_pages.large_drawing(designs.drawn_up(row.document).plan)
    return desk.page(
        "designs/change_text.html", "designs", status=status, row=row, form=form, faults=faults, drawing=drawing
    )
