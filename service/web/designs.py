"""Pages of designs: the list, one design, its text in and out, copying and putting away."""

from typing import Annotated, Any

from fastapi import APIRouter, Query
from fastapi.responses import Response

from service.languages import spoken
from service.reckoning.asked import Wrong
from service.reckoning.design_text import read_design
from service.reckoning.designs import Design, Faults
from service.records.queries.designs import PAGE, designs_by_name
from service.studio import designs
from service.studio.guesses import guesses_of
from service.web import design_pages
from service.web.deps import Beyond, Desk, Id, Now, OwnerDesk, Reads, SignedIn, SignedInDesk, Writes
from service.web.design_forms import Brought
from service.web.forms import Form, Typed
from service.web.words import count_number, per

router = APIRouter(include_in_schema=False, prefix="/designs")

STATES = {"current": "Designs", "redrawn": "Redrawn", "away": "Put away"}


@router.get("")
def show_designs(
    desk: SignedInDesk,
    db: Reads,
    q: str = "",
    state: Annotated[str, Query(pattern="current|redrawn|away")] = "current",
    after: Beyond = None,
) -> Response:
    rows = designs_by_name(db, q[:200], "put away" if state == "away" else state, after)
    page = rows[:PAGE]
    lines = [(row, design_pages.summary_of(row.document, f"small-{row.id}")) for row in page]
    further = page[-1].id if len(rows) > PAGE else None
    asked: dict[str, Any] = {"q": q, "state": state, "after": after, "further": further, "states": STATES}
    return desk.page("designs/designs.html", "designs", block="found", lines=lines, **asked)


@router.get("/import")
def show_import(desk: OwnerDesk) -> Response:
    return _import_page(desk, Form())


@router.post("/import")
def import_design(desk: OwnerDesk, form: Brought, db: Writes, at: Now) -> Response:
    text = form.values.get("text", "")
    if not text.strip():
        form.fault("text", "Choose a file, or paste a design’s text.")
    if form.wrong:
        return _import_page(desk, form, (), 422)
    try:
        row = designs.add_design(db, read_design(text), at)
    except Faults as faults:
        return _import_page(desk, form, faults.wrongs, 422)
    return desk.go(f"/designs/{row.id}")


def _import_page(desk: Desk, form: Form, faults: tuple[Wrong, ...] = (), status: int = 200) -> Response:
    if faults:
        form.fault("text", "This text cannot be taken. What is wrong is listed with it, each thing by its place.")
    return desk.page("designs/import.html", "designs", status=status, form=form, faults=faults)


@router.get("/{design_id}")
def show_design(desk: SignedInDesk, db: Reads, design_id: Id) -> Response:
    row = designs.design_with(db, design_id)
    drawn = designs.drawn_up(row.document, tuple(guesses_of(db).items()))
    return desk.page(
        "designs/design.html",
        "designs",
        row=row,
        design=drawn.design,
        plan=drawn.plan,
        newer=designs.newer_than(db, design_id) if row.state == "redrawn" else None,
        drawing=design_pages.large_drawing(drawn.plan, f"/designs/{design_id}"),
        panels=design_pages.panels_shown(drawn),
        joined=design_pages.joined_sections(drawn.plan),
        told=design_pages.findings_of(drawn.plan.sections),
        drawn_for=_drawn_for(desk, drawn.design),
        cautions=[(one, caution) for one in drawn.design.every_section for caution in one.cautions],
        notes=[(spoken.Typed(one.name), spoken.Typed(one.note)) for one in drawn.design.every_section if one.note],
    )


def _drawn_for(desk: Desk, design: Design) -> list[tuple[str, str]]:
    """The cloths it was drawn up for, in words."""
    assert desk.studio
    unit = desk.studio.count_unit
    return [
        (
            f"Cloth for the {cloth.role}",
            f"{cloth.name}: {count_number(cloth.counts.warp_per_cm, unit)} × {per(cloth.counts.weft_per_cm, unit)}",
        )
        for cloth in design.cloths
    ]


@router.get("/{design_id}/text")
def take_text(person: SignedIn, db: Reads, design_id: Id) -> Response:
    del person
    row = designs.design_with(db, design_id)
    named = {"Content-Disposition": f'attachment; filename="{row.key}.toml"'}
    return Response(row.document, media_type="application/toml", headers=named)


@router.post("/{design_id}/copy")
def copy_design(desk: OwnerDesk, db: Writes, at: Now, design_id: Id) -> Response:
    return desk.go(f"/designs/{designs.copy_design(db, design_id, at).id}/change")


@router.post("/{design_id}/put-away")
def put_design_away(desk: OwnerDesk, form: Typed, db: Writes, design_id: Id) -> Response:
    designs.put_design_away(db, design_id, away=form.ticked("away"))
    if form.ticked("away"):
        desk.may_undo("It is put away.", f"/designs/{design_id}/put-away")
    return desk.go(f"/designs/{design_id}")
