"""The risks considered for a garment: each with what was done about it, by whom and when; kept for good."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlmodel import col

from service.errors import Conflict, NotFound
from service.records.db import Reading, Writing
from service.records.tables import Account, RiskConsidered
from service.studio.sign_in import Person
from service.studio.standing import garment_with


@dataclass(frozen=True, slots=True)
class Risk:
    """One risk as considered."""

    id: int
    risk: str
    answer: str
    who: str
    at: datetime


def risks_of(db: Reading | Writing, garment_ids: list[int]) -> dict[int, tuple[Risk, ...]]:
    """The risks considered for these garments, in the order in which they were."""
    found: dict[int, tuple[Risk, ...]] = dict.fromkeys(garment_ids, ())
    rows = (
        select(*_COLUMNS)
        .outerjoin(Account, col(RiskConsidered.account_id) == Account.id)
        .where(col(RiskConsidered.garment_id).in_(garment_ids), col(RiskConsidered.set_aside_at).is_(None))
        .order_by(col(RiskConsidered.id))
    )
    for row in db.execute(rows):
        found[row.garment_id] = (*found[row.garment_id], Risk(row.id, row.risk, row.answer, row.name or "", row.at))
    return found


def consider_risk(db: Writing, person: Person, garment_id: int, told: tuple[str, str], at: datetime) -> None:
    """Write down a risk and what was done about it."""
    garment_with(db, garment_id)
    risk, answer = told
    db.add(RiskConsidered(garment_id=garment_id, risk=risk, answer=answer, account_id=person.id, at=at))
    db.flush()


def set_risk_aside(db: Writing, risk_id: int, at: datetime) -> int:
    """Set a risk aside that was written down wrongly; gives the garment's number."""
    risk = db.get(RiskConsidered, risk_id)
    if risk is None:
        raise NotFound("There is no such risk written down.")
    if risk.set_aside_at is not None:
        raise Conflict("That risk is set aside already.")
    risk.set_aside_at = at
    db.add(risk)
    db.flush()
    return risk.garment_id


_COLUMNS = (
    col(RiskConsidered.id),
    col(RiskConsidered.garment_id),
    col(RiskConsidered.risk),
    col(RiskConsidered.answer),
    col(RiskConsidered.at),
    col(Account.name),
)
