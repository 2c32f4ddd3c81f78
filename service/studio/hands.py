"""Whose hands: panels until they are joined, then the garment. Only a taken handover moves them."""

from datetime import datetime

from sqlmodel import col, select

from service.records.db import Reading, Writing
from service.records.tables import Garment, Panel, Step, Stitcher
from service.studio.sign_in import Person


def is_in_hands(db: Reading | Writing, person: Person, garment: Garment, panel_id: int | None) -> bool:
    """Whether this panel, or once it is joined the garment, is in this person's hands."""
    return person.stitcher_id is not None and _holder_id(db, garment, panel_id) == person.stitcher_id


def whose_else(db: Reading | Writing, person: Person, garment: Garment, panel_id: int | None) -> str:
    """Who else holds it; nothing when it is on the shelf or in this person's own hands."""
    holder_id = _holder_id(db, garment, panel_id)
    return "" if holder_id in {None, person.stitcher_id} else db.get_one(Stitcher, holder_id).name


def _holder_id(db: Reading | Writing, garment: Garment, panel_id: int | None) -> int | None:
    is_apart = panel_id is not None and garment.joined_at is None
    return db.get_one(Panel, panel_id).holder_id if is_apart else garment.holder_id


def settle(db: Writing, garment: Garment, panels: list[Panel], at: datetime) -> None:
    """Panels all cut out and all in the same hands are one joined garment; one not cut out after all is not."""
    uncut = db.exec(
        select(Step.id).where(
            Step.garment_id == garment.id,
            Step.operation == "cut_out",
            col(Step.done_tenths) < col(Step.quantity_tenths),
        )
    ).first()
    holders = {panel.holder_id for panel in panels}
    if uncut is not None:
        garment.joined_at = garment.holder_id = None
    elif len(holders) == 1:
        garment.joined_at, garment.holder_id = garment.joined_at or at, holders.pop()
    db.add(garment)
