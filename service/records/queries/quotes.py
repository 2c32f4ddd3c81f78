"""Quotes and payments as lists show them."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from sqlalchemy import Row, select
from sqlmodel import col

from service.records.db import Reading, Writing
from service.records.tables import Client, Commission, Payment, Quote

MOST_WAITING = 200
OVER = ("closed", "called off")


def quotes_of(db: Reading | Writing, commission_id: int) -> Sequence[Quote]:
    """Every version of a commission's quotes and alterations, the newest first."""
    found = select(Quote).where(col(Quote.commission_id) == commission_id).order_by(col(Quote.id).desc())
    return db.execute(found).scalars().all()


def payments_of(db: Reading | Writing, commission_id: int) -> Sequence[Payment]:
    """What was paid for a commission, given back and taken back, the newest first."""
    found = select(Payment).where(col(Payment.commission_id) == commission_id)
    return db.execute(found.order_by(col(Payment.on).desc(), col(Payment.id).desc())).scalars().all()


def quotes_waiting(db: Reading | Writing, state: str, today: date) -> Sequence[Row[Any]]:
    """Quotes in that state that have not lapsed, those first that are valid for the shortest time."""
    found = (
        select(Quote, col(Commission.title), col(Client.name))
        .join(Commission, col(Commission.id) == Quote.commission_id)
        .join(Client, col(Client.id) == Commission.client_id)
        .where(col(Quote.state) == state, col(Commission.state).not_in(OVER))
        .order_by(col(Quote.valid_until), col(Quote.id))
        .limit(MOST_WAITING)
    )
    if state == "sent":
        found = found.where(col(Quote.valid_until) >= today)
    return db.execute(found).all()


def commissions_with_money(db: Reading | Writing) -> Sequence[Row[Any]]:
    """Commissions with something accepted or paid that are not closed, by the day they are wanted."""
    accepted = select(col(Quote.commission_id)).where(col(Quote.state) == "accepted")
    paid = select(col(Payment.commission_id))
    found = (
        select(col(Commission.id), col(Commission.title), col(Client.name), col(Commission.wanted_on))
        .join(Client, col(Client.id) == Commission.client_id)
        .where(col(Commission.state) != "closed", col(Commission.id).in_(accepted) | col(Commission.id).in_(paid))
        .order_by(col(Commission.wanted_on), col(Commission.id))
    )
    return db.execute(found.limit(MOST_WAITING)).all()
