"""Copying a section of a design, and mirroring a section or a whole panel, each in one press."""

from fastapi import APIRouter
from fastapi.responses import Response

from service.errors import Conflict
from service.reckoning.design_text import design_of
from service.reckoning.designs import Faults
from service.reckoning.mirrors import stands_opposite
from service.records.db import Writing
from service.studio import designs
from service.studio.design_parts import (
    Table,
    copied_section,
    mirrored_panel,
    mirrored_section,
    part_at,
    place_in_words,
    tables_of,
)
from service.web.deps import Desk, Id, Now, OwnerDesk, Writes
from service.web.design_changes import path_of

router = APIRouter(include_in_schema=False, prefix="/designs/{design_id}")


@router.post("/sections/{key}/copy")
def copy_section(desk: OwnerDesk, db: Writes, at: Now, design_id: Id, key: str) -> Response:
    row = designs.may_be_changed(designs.design_with(db, design_id))
    table, name = copied_section(tables_of(row.document), path_of(key))
    new_id = _keep(desk, db, at, design_id, table)
    panel, dot, _ = key.rpartition(".")
    return desk.go(f"/designs/{new_id}/sections/{panel}{dot}{name}")


@router.post("/sections/{key}/mirror")
def mirror_section(desk: OwnerDesk, db: Writes, at: Now, design_id: Id, key: str) -> Response:
    row = designs.may_be_changed(designs.design_with(db, design_id))
    table, _ = mirrored_section(tables_of(row.document), path_of(key))
    return desk.go(f"/designs/{_keep(desk, db, at, design_id, table)}/change#parts")


@router.post("/panels/{key}/mirror")
def mirror_panel(desk: OwnerDesk, db: Writes, at: Now, design_id: Id, key: str) -> Response:
    row = designs.may_be_changed(designs.design_with(db, design_id))
    before = tables_of(row.document)
    part_at(before, ("panels", key))
    stands = stands_opposite(designs.drawn_up(row.document).design, key)
    table, _ = mirrored_panel(before, key, stands)
    return desk.go(f"/designs/{_keep(desk, db, at, design_id, table)}/change#parts")


def _keep(desk: Desk, db: Writing, at: Now, design_id: int, table: Table) -> int:
    """Keep the design as these tables say; the number it now has."""
    assert desk.person
    try:
        row = designs.change_design(db, design_id, design_of(table), at, desk.person.id)
    except Faults as faults:
        told = "; ".join(f"{place_in_words(table, wrong.field)}: {wrong.sentence}" for wrong in faults.wrongs)
        raise Conflict(f"That cannot be drawn: {told}.") from faults
    assert row.id is not None
    return row.id
