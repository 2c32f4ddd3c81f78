"""Supplies: lace, ribbon, buttons, thread; what came in, went out and is on hand."""

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import select

from service.errors import NotFound, Unreadable
from service.records.db import Reading, Writing
from service.records.tables import Supply, SupplyUse


@dataclass(frozen=True, slots=True)
class SupplyFacts:
    """What is written down of a supply."""

    name: str
    kind: str
    unit: str
    price_minor: int | None
    notes: str


@dataclass(frozen=True, slots=True)
class Moved:
    """So many thousandths of a unit came (above zero) or went (below), why, and for which garment."""

    kind: str
    change_thousandths: int
    reason: str
    garment_id: int | None = None


def supply_with(db: Reading | Writing, supply_id: int) -> Supply:
    """The supply of that number, or a refusal."""
    supply = db.get(Supply, supply_id)
    if supply is None:
        raise NotFound("There is no such supply.")
    return supply


def add_supply(db: Writing, facts: SupplyFacts, at: datetime) -> Supply:
    """Write a new supply down, none of it on hand yet."""
    supply = Supply(
        name=facts.name,
        kind=facts.kind,
        unit=facts.unit,
        price_minor=facts.price_minor,
        notes=facts.notes,
        created_at=at,
    )
    db.add(supply)
    db.flush()
    return supply


def change_supply(db: Writing, supply_id: int, facts: SupplyFacts) -> None:
    """Correct what is written of a supply."""
    supply = supply_with(db, supply_id)
    supply.name, supply.kind, supply.unit = facts.name, facts.kind, facts.unit
    supply.price_minor, supply.notes = facts.price_minor, facts.notes
    db.add(supply)


def move_supply(db: Writing, supply_id: int, moved: Moved, account_id: int, at: datetime) -> None:
    """Write down what came or went; never more than is on hand."""
    supply = db.exec(
        select(Supply).where(Supply.id == supply_id).with_for_update().execution_options(populate_existing=True)
    ).first()
    if supply is None:
        raise NotFound("There is no such supply.")
    after = supply.on_hand_thousandths + moved.change_thousandths
    if after < 0:
        raise Unreadable({"amount": f"Only {supply.on_hand_thousandths / 1000:g} are on hand."})
    supply.on_hand_thousandths = after
    db.add(supply)
    db.add(
        SupplyUse(
            supply_id=supply_id,
            garment_id=moved.garment_id,
            kind=moved.kind,
            change_thousandths=moved.change_thousandths,
            reason=moved.reason,
            account_id=account_id,
            at=at,
        )
    )


def put_supply_away(db: Writing, supply_id: int, *, away: bool) -> None:
    """Take a supply off the list, or put it back."""
    supply = supply_with(db, supply_id)
    supply.put_away = away
    db.add(supply)
