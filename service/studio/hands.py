"""Whose hands: panels until they are joined, then the garment; simple giving, with who held it when kept."""

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import col, select

from service.errors import Conflict, NotAllowed, NotFound, Unreadable
from service.records.db import Reading, Writing
from service.records.tables import Event, Garment, Panel, Step, Stitcher
from service.studio.sign_in import Person
from service.studio.standing import locked_garment


@dataclass(frozen=True, slots=True)
class Giving:
    """These panels of a garment (all when none is named) go to a stitcher, or to the shelf when nobody is named."""

    garment_id: int
    to_stitcher_id: int | None
    panel_ids: frozenset[int] = frozenset()
    note: str = ""


def give(db: Writing, person: Person, giving: Giving, at: datetime) -> Garment:
    """Put panels, or the joined garment, into other hands.

    The owner gives anything; a stitcher what is in her own hands. A joined garment moves as one.
    """
    garment = locked_garment(db, giving.garment_id)
    if garment.state in {"delivered", "called off"}:
        raise Conflict(f"This garment is {garment.state}; it is in nobody's hands any more.")
    _check_receiver(db, giving.to_stitcher_id)
    panels = list(db.exec(select(Panel).where(Panel.garment_id == garment.id).with_for_update()))
    moved = _moved(panels, giving, joined=garment.joined_at is not None)
    if not person.is_owner and any(panel.holder_id != person.stitcher_id for panel in moved):
        raise NotAllowed("Only what is in your own hands can be given on by you.")
    for panel in moved:
        _keep(db, person, panel, giving, at)
        panel.holder_id = giving.to_stitcher_id
        db.add(panel)
    db.flush()
    settle(db, garment, panels, at)
    return garment


def _check_receiver(db: Writing, stitcher_id: int | None) -> None:
    if stitcher_id is None:
        return
    stitcher = db.get(Stitcher, stitcher_id)
    if stitcher is None:
        raise NotFound("There is no such stitcher.")
    if stitcher.left_on is not None:
        raise Conflict(f"{stitcher.name} has left the studio, so nothing can be given to her.")


def _moved(panels: list[Panel], giving: Giving, *, joined: bool) -> list[Panel]:
    known = {panel.id for panel in panels}
    if giving.panel_ids - known:
        raise Unreadable({"panels": "Choose panels of this garment."})
    if joined or not giving.panel_ids:
        return panels
    return [panel for panel in panels if panel.id in giving.panel_ids]


def is_in_hands(db: Reading | Writing, person: Person, garment: Garment, panel_id: int | None) -> bool:
    """Whether this panel, or once it is joined the garment, is in this person's hands."""
    if person.stitcher_id is None:
        return False
    if panel_id is not None and garment.joined_at is None:
        return db.get_one(Panel, panel_id).holder_id == person.stitcher_id
    return garment.holder_id == person.stitcher_id


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


def _keep(db: Writing, person: Person, panel: Panel, giving: Giving, at: datetime) -> None:
    """Keep who held a panel before and who holds it now, by their numbers; nobody is the shelf."""
    assert panel.id is not None
    db.add(
        Event(
            at=at,
            account_id=person.id,
            garment_id=panel.garment_id,
            action="given",
            object_kind="panel",
            object_id=panel.id,
            reason=giving.note,
            before="" if panel.holder_id is None else str(panel.holder_id),
            after="" if giving.to_stitcher_id is None else str(giving.to_stitcher_id),
        )
    )
