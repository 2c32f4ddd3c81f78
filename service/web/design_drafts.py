"""A part of a design being drawn up by form: tried in the whole design, looked at, kept."""

from datetime import datetime
from typing import Any, Protocol

from fastapi.responses import Response

from service.reckoning.design_text import design_of
from service.reckoning.designs import Design, Faults
from service.records import tables
from service.records.db import Writing
from service.studio import designs
from service.studio.design_parts import Path, Table, with_part
from service.studio.designs import DrawnUp
from service.web import design_pages
from service.web.deps import Desk
from service.web.design_fields import Field, Group
from service.web.design_forms import tell_faults
from service.web.design_left_out import ASKED_FOR, refuse_untold, typed_into
from service.web.forms import Form

BLOCKS = ("fields", "beside")


class PartAsk(Protocol):
    """A panel or section as typed so far."""

    @property
    def row(self) -> tables.Design:
        """The design as it is kept."""

    @property
    def table(self) -> Table:
        """Its text as tables."""

    @property
    def form(self) -> Form:
        """What is typed."""

    @property
    def key(self) -> str:
        """The part's key; nothing yet for a new one."""

    @property
    def path(self) -> Path:
        """Where it stands in the text, or will stand."""

    @property
    def groups(self) -> tuple[Group, ...]:
        """What is asked of it."""

    @property
    def labels(self) -> dict[str, str]:
        """By place in the part, what a field is called."""

    @property
    def asked_for(self) -> str:
        """What its fields depend on: its kind, or that it mirrors another."""

    @property
    def laid_aside(self) -> tuple[Field, ...]:
        """The fields typed into that are not asked now."""

    @property
    def left_out(self) -> tuple[tuple[str, str], ...]:
        """What of it is left out when it is kept: what it is called, and of which panel, if of several."""

    def part(self) -> Table:
        """The part as the text holds it; faults are noted in the form."""


def tried(ask: PartAsk) -> Design | None:
    """The whole design with the part as typed, or None with its faults noted at their fields."""
    part = ask.part()
    if ask.form.wrong:
        return None
    table = with_part(ask.table, ask.path, part)
    try:
        return design_of(table)
    except Faults as faults:
        tell_faults(ask.form, faults, ask.path, ask.labels, table)
        return None


def kept(desk: Desk, ask: PartAsk, db: Writing, at: datetime, template: str) -> Response:
    """Keep the part and go back to the design, or say what is wrong."""
    assert desk.person
    assert ask.row.id is not None
    refuse_untold(ask.form, ask.asked_for, anything=bool(ask.left_out))
    design = None if ask.form.wrong else tried(ask)
    if design is None:
        return shown(desk, ask, template, None, 422)
    row = designs.change_design(db, ask.row.id, design, at, desk.person.id)
    return desk.go(f"/designs/{row.id}/change#parts")


def looked_at(desk: Desk, ask: PartAsk, template: str) -> Response:
    """The page with the part drawn as typed, nothing kept."""
    design = tried(ask)
    status = 422 if ask.form.wrong else 200
    if desk.wants_block and desk.request.headers.get("hx-target") == "fields":
        ask.form.errors.clear()  # other fields are asked for now; what was wrong in the old ones says nothing
    return shown(desk, ask, template, design, status)


def shown(desk: Desk, ask: PartAsk, template: str, design: Design | None, status: int = 200) -> Response:
    """The page of a part, with the drawing of the design as typed or, where that cannot be, as last kept."""
    assert ask.row.id is not None
    drawn: DrawnUp = designs.drawn_up(ask.row.document) if design is None else designs.planned(design)
    key = ".".join(name for name in ask.path if name not in ("panels", "sections"))
    section = next((one for one in drawn.plan.sections if one.key == key), None)
    told = design_pages.findings_of(drawn.plan.sections)
    context: dict[str, Any] = {
        "row": ask.row,
        "form": ask.form,
        "ask": ask,
        "section": section,
        "told": [one for one in told if one.key == key or (section is None and one.key.startswith(f"{key}."))],
        "drawing": design_pages.drawing_beside(drawn, ask.row.id, _panel_of(ask), key if section else ""),
        "sentences": {one.finding.code: one.finding.text for one in told if one.key == key},
        "kept_aside": ((ASKED_FOR, ask.asked_for), *_aside(ask)),
        "as_typed": design is not None,
        "is_part": desk.wants_block,  # a whole page tells what is wrong above its form
        "address": desk.request.url.path.removesuffix("/look"),
        "where": f"?{desk.request.url.query}" if desk.request.url.query else "",
    }
    asked_for = desk.request.headers.get("hx-target", "")
    block = asked_for if asked_for in BLOCKS else BLOCKS[0]
    return desk.page(template, "designs", status=status, block=block, **context)


def _aside(ask: PartAsk) -> tuple[tuple[str, str], ...]:
    return tuple((field.name, value) for field in ask.laid_aside for value in typed_into(ask.form, field))


def _panel_of(ask: PartAsk) -> str:
    return ask.path[1] if ask.path[0] == "panels" else ""
