"""Quotes and payments as lists show them."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from sqlalchemy import BigInteger, Integer, Row, column, select, text
from sqlmodel import col

from service.records.db import Reading, Writing
from service.records.tables import Client, Commission, Payment, Quote

MOST_WAITING = 200
OVER = ("closed", "called off")
OWED = """
    select commission_id, sum(minor) as owed_minor from (
        select commission_id, total_minor as minor from quote where state = 'accepted'
        union all
        select payment.commission_id, case payment.kind when 'paid' then -amount_minor else amount_minor end
        from payment where payment.kind <> 'counter'
        union all
        select payment.commission_id, case wrong.kind when 'paid' then wrong.amount_minor else -wrong.amount_minor end
        from payment join payment as wrong on wrong.id = payment.counters_id
    ) as moved group by commission_id
"""
"""What is owed for each commission: what was accepted less what was paid and not taken back."""


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
    """Commissions with something accepted or paid, closed ones while something is owed, by the day they are wanted."""
    accepted = select(col(Quote.commission_id)).where(col(Quote.state) == "accepted")
    paid = select(col(Payment.commission_id))
    owed = text(OWED).columns(column("commission_id", Integer), column("owed_minor", BigInteger)).subquery("owed")
    owing = select(owed.c.commission_id).where(owed.c.owed_minor != 0)
    is_shown = (col(Commission.state) != "closed") | col(Commission.id).in_(owing)
    found = (
        select(col(Commission.id), col(Commission.title), col(Client.name), col(Commission.wanted_on))
        .join(Client, col(Client.id) == Commission.client_id)
        .where(is_shown, col(Commission.id).in_(accepted) | col(Commission.id).in_(paid))
        .order_by(col(Commission.wanted_on), col(Commission.id))
    )
    return db.execute(found.limit(MOST_WAITING)).all()
