"""Pages of the first look of a new design: a garment, one cloth, one panel that is still a plain rectangle."""

from fastapi import APIRouter
from fastapi.responses import Response

from service.reckoning.asked import Wrong
from service.reckoning.design_text import design_of
from service.reckoning.designs import Faults
from service.studio import designs
from service.studio.design_parts import Table, free_key
from service.web.deps import Desk, Now, OwnerDesk, Writes
from service.web.design_fields import SIDES, Field, Group, labels
from service.web.design_forms import fields_of, part_from, plain_number
from service.web.forms import Form, Typed

router = APIRouter(include_in_schema=False, prefix="/designs")

FIRST_MARGIN_MM = 20
FIRST_PANEL = (
    Group(
        "The garment",
        (
            Field("name", "Name of the design", "line", needed=True),
            Field("size", "Size", "line", "As you say it to a client: 3 months, chest 46 cm."),
        ),
    ),
    Group(
        "The cloth it is drawn up for",
        (
            Field("role", "What it is for", "line", "The gown, the yoke, the binding: one word will do.", needed=True),
            Field("cloth_name", "The cloth", "line", "Like: fine linen.", needed=True),
            Field("warp", "Warp threads", "number", needed=True),
            Field("weft", "Weft threads", "number", needed=True),
        ),
    ),
    Group(
        "Its first panel",
        (
            Field("panel", "Name of the panel", "line", needed=True),
            Field("side", "Seen from", "choice", options=SIDES),
            Field("block_width_mm", "Width of the block", "number", unit="mm", needed=True),
            Field("block_height_mm", "Height of the block, along the warp", "number", unit="mm", needed=True),
        ),
    ),
)
PLACES_OF_FIRST = {
    "cloths.{role}.name": "cloth_name",
    "cloths.{role}.warp_per_cm": "warp",
    "cloths.{role}.weft_per_cm": "weft",
    "panels.{panel}.outline": "block_width_mm",
    "panels.{panel}.block_width_mm": "block_width_mm",
    "panels.{panel}.block_height_mm": "block_height_mm",
}


@router.get("/new")
def show_new_design(desk: OwnerDesk) -> Response:
    return _new_page(desk, Form({"role": "gown", "panel": "Front", "side": "front"}))


@router.post("")
def add_design(desk: OwnerDesk, form: Typed, db: Writes, at: Now) -> Response:
    table = _first_table(desk, form)
    if not form.wrong:
        try:
            row = designs.add_design(db, design_of(table), at)
            return desk.go(f"/designs/{row.id}/change")
        except Faults as faults:
            for wrong in faults.wrongs:
                field = _field_of_first(wrong, table)
                form.fault(field, f"{_first_labels()[field]}: {wrong.sentence}.")
    return _new_page(desk, form, 422)


def _first_table(desk: Desk, form: Form) -> Table:
    """A whole design with one panel, a plain rectangle inside its block to be shaped afterwards."""
    typed = part_from(form, fields_of(FIRST_PANEL))
    role, panel = free_key(typed.get("role", ""), (), "cloth"), free_key(typed.get("panel", ""), (), "panel")
    wide, high = typed.get("block_width_mm", 0), typed.get("block_height_mm", 0)
    cloth = {"name": typed.get("cloth_name", "")}
    for name in ("warp", "weft"):
        cloth[f"{name}_per_cm"] = _per_cm(desk, form, name, typed.get(name))
    for name, value in (("block_width_mm", wide), ("block_height_mm", high)):
        if not value:
            form.fault(name, f"Enter {'the width' if name == 'block_width_mm' else 'the height'} of the block.")
    return {
        "key": free_key(typed.get("name", ""), (), "design"),
        "name": typed.get("name", ""),
        "size": typed.get("size", ""),
        "cloths": {role: cloth},
        "panels": {
            panel: {
                "name": typed.get("panel", ""),
                "side": typed.get("side", "front"),
                "cloth": role,
                "block_width_mm": wide,
                "block_height_mm": high,
                "outline": rectangle_inside(wide, high),
            }
        },
    }


def rectangle_inside(width_mm: float, height_mm: float) -> str:
    """A first cutting line: a rectangle inside the block, or the block itself when it is small."""
    margin = FIRST_MARGIN_MM if min(width_mm, height_mm) > 4 * FIRST_MARGIN_MM else 0
    right, bottom = width_mm - margin, height_mm - margin
    return f"{margin:g},{margin:g} {right:g},{margin:g} {right:g},{bottom:g} {margin:g},{bottom:g}"


def _per_cm(desk: Desk, form: Form, system: str, typed: float | None) -> float:
    assert desk.studio
    if typed is None:
        form.fault(system, f"Enter the {system} threads per {desk.studio.count_unit}.")
        return 0
    return plain_number(round(typed / 2.54, 6) if desk.studio.count_unit == "in" else typed)


def _first_labels() -> dict[str, str]:
    return {"": "The design", **labels(FIRST_PANEL)}


def _field_of_first(wrong: Wrong, table: Table) -> str:
    role, panel = next(iter(table["cloths"])), next(iter(table["panels"]))
    places = {place.format(role=role, panel=panel): name for place, name in PLACES_OF_FIRST.items()}
    return places.get(wrong.field, wrong.field if wrong.field == "name" else "")


def _new_page(desk: Desk, form: Form, status: int = 200) -> Response:
    return desk.page("designs/new.html", "designs", status=status, form=form, groups=FIRST_PANEL)
