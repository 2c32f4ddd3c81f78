"""Supplies as lists show them, and what came and went of one."""

from sqlalchemy import func
from sqlmodel import col, select

from service.records.db import Reading, Writing
from service.records.folding import holding
from service.records.queries.people import PAGE
from service.records.tables import Supply, SupplyUse


def supplies_by_name(db: Reading, words: str, *, put_away: bool) -> list[Supply]:
    """Supplies whose name or notes hold these words, by kind and name."""
    found = select(Supply).where(col(Supply.put_away) == put_away)
    if words.strip():
        found = found.where(holding(words, Supply.name, Supply.notes))
    return list(db.exec(found.order_by(Supply.kind, func.lower(Supply.name), col(Supply.id)).limit(PAGE)))


def uses_of(db: Reading | Writing, supply_id: int) -> list[SupplyUse]:
    """What came and went of a supply, newest first."""
    return list(
        db.exec(
            select(SupplyUse).where(SupplyUse.supply_id == supply_id).order_by(col(SupplyUse.id).desc()).limit(PAGE)
        )
    )
