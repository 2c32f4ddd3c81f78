"""Designs: written down, changed, copied, put away. One in use is redrawn, so that its garments keep their text."""

from dataclasses import dataclass, replace
from datetime import datetime
from functools import lru_cache

from sqlmodel import col, select

from service.errors import Conflict, NotFound
from service.reckoning.carry import own_cloths, plan_garment
from service.reckoning.design_text import read_design
from service.reckoning.design_writing import write_design
from service.reckoning.designs import Design
from service.reckoning.guesses import STATED
from service.reckoning.plans import GarmentPlan
from service.records import tables
from service.records.db import Reading, Writing
from service.records.tables import Event, Garment
from service.studio.design_parts import free_key


@dataclass(frozen=True, slots=True)
class DrawnUp:
    """A design and its plan on the cloths it was drawn up for."""

    design: Design
    plan: GarmentPlan


@lru_cache(maxsize=64)
def drawn_up(document: str, guesses: tuple[tuple[str, float], ...] = ()) -> DrawnUp:
    """A kept design's text, read and planned on its own cloths; timed by the stated guesses unless others are given."""
    return planned(read_design(document), guesses)


def planned(design: Design, guesses: tuple[tuple[str, float], ...] = ()) -> DrawnUp:
    """A design planned on its own cloths."""
    return DrawnUp(design, plan_garment(design, own_cloths(design), guesses=dict(guesses) or STATED))


def design_with(db: Reading | Writing, design_id: int) -> tables.Design:
    """The design of that number, or a refusal."""
    design = db.get(tables.Design, design_id)
    if design is None:
        raise NotFound("There is no such design.")
    return design


def newer_than(db: Reading | Writing, design_id: int) -> tables.Design | None:
    """The design that this one was redrawn as, if it was."""
    redrawn = select(tables.Design).where(tables.Design.redrawn_from_id == design_id)
    return db.exec(redrawn.order_by(col(tables.Design.id).desc())).first()


def is_in_use(db: Reading | Writing, design_id: int) -> bool:
    """Whether a garment was made from this design."""
    return db.exec(select(Garment.id).where(Garment.design_id == design_id).limit(1)).first() is not None


def add_design(db: Writing, design: Design, at: datetime) -> tables.Design:
    """Write a new design down."""
    row = tables.Design(key=design.key, name=design.name, document=write_design(design), created_at=at)
    db.add(row)
    db.flush()
    return row


def change_design(db: Writing, design_id: int, design: Design, at: datetime, account_id: int) -> tables.Design:
    """Change a design; one that garments were made from is kept as redrawn, and the new one stands in its place."""
    row = may_be_changed(design_with(db, design_id))
    document = write_design(design)
    if document == row.document:
        return row
    if not is_in_use(db, design_id):
        _tell(db, row, document, at, account_id)
        row.key, row.name, row.document = design.key, design.name, document
        db.add(row)
        return row
    row.state = "redrawn"
    db.add(row)
    new = add_design(db, design, at)
    new.redrawn_from_id = design_id
    db.add(new)
    return new


def _tell(db: Writing, row: tables.Design, document: str, at: datetime, account_id: int) -> None:
    assert row.id is not None
    db.add(
        Event(
            at=at,
            account_id=account_id,
            action="change_design",
            object_kind="design",
            object_id=row.id,
            before=row.document,
            after=document,
        )
    )


def may_be_changed(row: tables.Design) -> tables.Design:
    """The design itself when it is current; a refusal otherwise."""
    if row.state == "redrawn":
        raise Conflict("This design was redrawn: change the newer one, or copy this one and change the copy.")
    if row.state == "put away":
        raise Conflict("This design is put away: put it back on the list first, or copy it and change the copy.")
    return row


def copy_design(db: Writing, design_id: int, at: datetime) -> tables.Design:
    """A design of its own that begins as this one stands."""
    design = read_design(design_with(db, design_id).document)
    taken = set(db.exec(select(tables.Design.key)))
    copied = replace(design, key=free_key(f"{design.key} copy", taken, "design"), name=f"{design.name}, copy")
    return add_design(db, copied, at)


def put_design_away(db: Writing, design_id: int, *, away: bool) -> None:
    """Take a design off the list, or put it back."""
    row = design_with(db, design_id)
    if row.state == "redrawn":
        raise Conflict("This design was redrawn and is off the list already.")
    row.state = "put away" if away else "current"
    db.add(row)
