"""Deciding into whose hands a part of a garment is to go, and taking that back."""

from datetime import datetime

from sqlmodel import col, select

from service.errors import Conflict, NotFound
from service.records.db import Writing
from service.records.tables import Event, Panel, PlannedHands, Stitcher
from service.studio.standing import check_open, locked_garment


def plan_hands(
    db: Writing, part: tuple[int, int | None], stitcher_id: int, account_id: int, at: datetime
) -> PlannedHands:
    """Write down that a panel, or under None the joined garment, is to go to a stitcher. It does not move by that."""
    garment_id, panel_id = part
    garment = locked_garment(db, garment_id)
    check_open(garment)
    panels = list(db.exec(select(Panel).where(Panel.garment_id == garment_id)))
    if panel_id is not None and all(panel.id != panel_id for panel in panels):
        raise NotFound("There is no such panel of this garment.")
    stitcher = db.get(Stitcher, stitcher_id)
    if stitcher is None:
        raise NotFound("There is no such stitcher.")
    if stitcher.left_on is not None:
        raise Conflict(f"{stitcher.name} has left the studio, so nothing can be planned for her.")
    holders = {panel.holder_id for panel in panels if panel_id in {None, panel.id}}
    was_with = holders.pop() if len(holders) == 1 else None
    plan = PlannedHands(
        garment_id=garment_id,
        panel_id=panel_id,
        stitcher_id=stitcher_id,
        was_with_id=was_with,
        account_id=account_id,
        at=at,
    )
    db.add(plan)
    db.flush()
    _keep(db, plan, "planned for other hands", account_id, at)
    return plan


def end_plan(db: Writing, planned_id: int, account_id: int, at: datetime) -> None:
    """Take a plan back: the part stays with whoever has it."""
    plan = db.get(PlannedHands, planned_id)
    if plan is None:
        raise NotFound("There is no such plan.")
    later = select(PlannedHands).where(
        PlannedHands.garment_id == plan.garment_id,
        col(PlannedHands.panel_id).is_not_distinct_from(plan.panel_id),
        col(PlannedHands.ended_at).is_(None),
    )
    for each in db.exec(later):
        each.ended_at = at
        db.add(each)
    _keep(db, plan, "stays in its hands", account_id, at)


def _keep(db: Writing, plan: PlannedHands, action: str, account_id: int, at: datetime) -> None:
    assert plan.id is not None
    db.add(
        Event(
            at=at,
            account_id=account_id,
            garment_id=plan.garment_id,
            action=action,
            object_kind="planned hands",
            object_id=plan.id,
            before="" if plan.was_with_id is None else str(plan.was_with_id),
            after=str(plan.stitcher_id),
        )
    )
