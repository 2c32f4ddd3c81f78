"""Pages of one panel of a design: its block, its cutting line, where it stands in the drawing."""

from dataclasses import dataclass, replace

from fastapi import APIRouter
from fastapi.responses import Response

from service.records import tables
from service.records.db import Reading, Writing
from service.studio import designs
from service.studio.design_parts import Path, Table, free_key, part_at, tables_of
from service.web.deps import Id, Now, OwnerDesk, Reads, Writes
from service.web.design_drafts import kept, looked_at, shown
from service.web.design_fields import PANEL_BLOCK, PANEL_FACTS, PANEL_PLACE, PANEL_SIZES, Field, Group, labels
from service.web.design_first import rectangle_inside
from service.web.design_forms import fields_of, form_of, part_from
from service.web.design_left_out import MIRROR, is_said, laid_aside
from service.web.design_lengths import as_shown, text_shown, to_mm
from service.web.forms import Form, Typed

router = APIRouter(include_in_schema=False, prefix="/designs/{design_id}")

PAGE = "designs/panel.html"
USUAL = {"side": "front", "block_width_mm": "400", "block_height_mm": "400"}


@dataclass(frozen=True, slots=True)
class PanelAsk:
    """A panel being drawn up: its design, its key (none yet for a new one), what is typed."""

    row: tables.Design
    table: Table
    key: str
    form: Form

    @property
    def path(self) -> Path:
        """Where it stands in the text."""
        return "panels", self.key or free_key(self.form.raw("name"), tuple(self.table["panels"]), "panel")

    @property
    def mirror_of(self) -> str:
        """The panel that it mirrors, if any."""
        chosen = self.form.raw("mirror_of")
        return chosen if chosen in dict(self.mirrors) else ""

    @property
    def mirrors(self) -> tuple[tuple[str, str], ...]:
        """The panels that it could mirror."""
        others = self.table["panels"].items()
        return tuple((key, one["name"]) for key, one in others if key != self.key and not one.get("mirror_of"))

    @property
    def groups(self) -> tuple[Group, ...]:
        """What is asked of it."""
        if self.mirror_of:
            return (PANEL_FACTS, PANEL_PLACE)
        cloths = tuple((role, f"{role}: {cloth['name']}") for role, cloth in self.table["cloths"].items())
        block = tuple(replace(one, options=cloths) if one.name == "cloth" else one for one in PANEL_BLOCK.fields)
        return (PANEL_FACTS, replace(PANEL_BLOCK, fields=block), PANEL_SIZES, PANEL_PLACE)

    @property
    def labels(self) -> dict[str, str]:
        """By place in the part, what a field is called."""
        return {"mirror_of": "Mirrors", **labels(self.groups)}

    @property
    def asked_for(self) -> str:
        """Whether it is drawn by itself or mirrors another."""
        return MIRROR if self.mirror_of else "itself"

    @property
    def laid_aside(self) -> tuple[Field, ...]:
        """The fields typed into that a mirror is not asked."""
        return laid_aside(self.form, fields_of((PANEL_BLOCK, PANEL_SIZES)), fields_of(self.groups))

    @property
    def left_out(self) -> tuple[tuple[str, str], ...]:
        """What of it is left out when it is kept: what was typed, and the sections of its own."""
        usual = {} if self.key else {**as_shown(USUAL), "cloth": next(iter(self.table["cloths"])), "grows_by": "body"}
        typed = [(field.label, "") for field in self.laid_aside if is_said(self.form, field, usual)]
        own = self.table["panels"].get(self.key, {}).get("sections", {}) if self.mirror_of else {}
        return (*typed, *(("Section", one["name"]) for one in own.values()))

    def part(self) -> Table:
        """The panel as the text holds it, its sections with it."""
        form = self.form
        if not self.key and not self.mirror_of and not form.raw("outline"):
            width = form.decimal("block_width_mm", called="the width", most=10_000, above=True)
            height = form.decimal("block_height_mm", called="the height", most=10_000, above=True)
            form.values["outline"] = text_shown(rectangle_inside(to_mm(float(width or 0)), to_mm(float(height or 0))))
            form.values["on_fold"] = ""
        typed = part_from(form, fields_of(self.groups))
        at_mm = [typed.pop("at_mm", 0), typed.pop("at_down_mm", 0)]
        part = {**typed, "at_mm": at_mm}
        if self.mirror_of:
            return {**part, "mirror_of": self.mirror_of}
        own = self.table["panels"].get(self.key, {}).get("sections")
        return {**part, "sections": own} if own else part


def _ask(db: Reading | Writing, design_id: int, key: str, form: Form | None = None) -> PanelAsk:
    row = designs.may_be_changed(designs.design_with(db, design_id))
    table = tables_of(row.document)
    if key:
        part_at(table, ("panels", key))
    return PanelAsk(row, table, key, form or _as_kept(table, key))


def _as_kept(table: Table, key: str) -> Form:
    if not key:
        return Form({**as_shown(USUAL), "cloth": next(iter(table["cloths"]))})
    part = {name: value for name, value in part_at(table, ("panels", key)).items() if name != "sections"}
    across, down = part.pop("at_mm", (0, 0))
    return form_of({**part, "at_mm": across, "at_down_mm": down})


@router.get("/add-panel")
def show_new_panel(desk: OwnerDesk, db: Reads, design_id: Id) -> Response:
    return shown(desk, _ask(db, design_id, ""), PAGE, None)


@router.post("/add-panel")
def add_panel(desk: OwnerDesk, form: Typed, db: Writes, at: Now, design_id: Id) -> Response:
    return kept(desk, _ask(db, design_id, "", form), db, at, PAGE)


@router.post("/add-panel/look")
def look_at_new_panel(desk: OwnerDesk, form: Typed, db: Reads, design_id: Id) -> Response:
    return looked_at(desk, _ask(db, design_id, "", form), PAGE)


@router.get("/panels/{key}")
def show_panel(desk: OwnerDesk, db: Reads, design_id: Id, key: str) -> Response:
    return shown(desk, _ask(db, design_id, key), PAGE, None)


@router.post("/panels/{key}")
def change_panel(desk: OwnerDesk, form: Typed, db: Writes, at: Now, design_id: Id, key: str) -> Response:
    return kept(desk, _ask(db, design_id, key, form), db, at, PAGE)


@router.post("/panels/{key}/look")
def look_at_panel(desk: OwnerDesk, form: Typed, db: Reads, design_id: Id, key: str) -> Response:
    return looked_at(desk, _ask(db, design_id, key, form), PAGE)
