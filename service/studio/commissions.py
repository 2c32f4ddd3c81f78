"""Commissions: what is asked for, for which day, and the least that must be known of the child."""

from dataclasses import dataclass, fields
from datetime import date, datetime

from sqlmodel import col, select

from service.errors import Conflict, NotFound
from service.records.db import Reading, Writing
from service.records.tables import Commission, Event, Garment
from service.studio import standing

NEXT_STATES = {
    "asked": ("quoted", "agreed"),
    "quoted": ("asked", "agreed"),
    "agreed": ("closed",),
    "closed": ("agreed",),
}


@dataclass(frozen=True, slots=True)
class CommissionFacts:
    """What is written down of a commission."""

    client_id: int
    title: str
    occasion: str
    wanted_on: date
    child_sex: str | None
    child_born: date | None
    born_is_due: bool
    gestation_weeks: int | None
    notes: str


def commission_with(db: Reading | Writing, commission_id: int) -> Commission:
    """The commission of that number, or a refusal."""
    commission = db.get(Commission, commission_id)
    if commission is None:
        raise NotFound("There is no such commission.")
    return commission


def held_commission(db: Writing, commission_id: int) -> Commission:
    """The commission, held so that nobody makes, moves or calls off anything of it before this is done."""
    commission_with(db, commission_id)
    return db.get_one(Commission, commission_id, with_for_update={"key_share": True}, populate_existing=True)


def add_commission(db: Writing, facts: CommissionFacts, at: datetime) -> Commission:
    """Write a new commission down."""
    commission = Commission(**{part.name: getattr(facts, part.name) for part in fields(facts)}, created_at=at)
    db.add(commission)
    db.flush()
    return commission


def change_commission(db: Writing, commission_id: int, facts: CommissionFacts) -> None:
    """Correct what is written of a commission; a new day goes to its garments too."""
    commission = held_commission(db, commission_id)
    for part in fields(facts):
        setattr(commission, part.name, getattr(facts, part.name))
    db.add(commission)
    for garment in garments_of(db, commission_id):
        assert garment.id is not None
        standing.wish_for(db, garment.id, facts.wanted_on)


def move_commission(db: Writing, commission_id: int, state: str, account_id: int, at: datetime) -> None:
    """Take a commission on to its next state: asked, quoted, agreed, closed."""
    commission = held_commission(db, commission_id)
    if state not in NEXT_STATES.get(commission.state, ()):
        raise Conflict(f"A commission that is {commission.state} cannot become {state}.")
    commission.state = state
    _keep(db, commission, state, "", account_id, at)


def call_commission_off(db: Writing, commission_id: int, reason: str, account_id: int, at: datetime) -> None:
    """Call a commission off, and with it every garment of it that is not delivered."""
    commission = held_commission(db, commission_id)
    if commission.state == "called off":
        raise Conflict("This commission is called off already.")
    for garment in garments_of(db, commission_id):
        if garment.state in {"planned", "in work", "finished"} and garment.id is not None:
            standing.call_off(db, garment.id, reason, account_id, at)
    commission.state = "called off"
    _keep(db, commission, "called off", reason, account_id, at)


def garments_of(db: Reading | Writing, commission_id: int) -> list[Garment]:
    """A commission's garments, oldest first."""
    return list(db.exec(select(Garment).where(Garment.commission_id == commission_id).order_by(col(Garment.id))))


def _keep(db: Writing, commission: Commission, action: str, reason: str, account_id: int, at: datetime) -> None:
    assert commission.id is not None
    db.add(commission)
    db.add(
        Event(
            at=at,
            account_id=account_id,
            action=action,
            object_kind="commission",
            object_id=commission.id,
            reason=reason,
        )
    )
