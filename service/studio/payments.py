"""Payments: what came from a client and what went back to her; a wrong entry is taken back, never edited."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import select

from service.errors import Conflict, NotFound, Unreadable
from service.records.db import Reading, Writing
from service.records.tables import Event, Payment, Studio
from service.studio.quotes import accepted_of, locked_commission
from service.studio.sign_in import Person
from service.studio.studio_day import studio_day

FIRST_DAY = date(2000, 1, 1)


@dataclass(frozen=True, slots=True)
class Paid:
    """So much was paid, or given back, on a day, and how."""

    kind: str
    on: date
    amount_minor: int
    how: str
    note: str = ""


def payment_with(db: Reading | Writing, payment_id: int) -> Payment:
    """The payment of that number, or a refusal."""
    payment = db.get(Payment, payment_id)
    if payment is None:
        raise NotFound("There is no such payment.")
    return payment


def write_payment(db: Writing, commission_id: int, paid: Paid, by: Person, at: datetime) -> Payment:
    """Write down what was paid or given back."""
    locked_commission(db, commission_id)
    if not FIRST_DAY <= paid.on <= studio_day(db, at):
        raise Unreadable({"on": "Enter the day it was paid, today or earlier."})
    if paid.amount_minor < 1:
        raise Unreadable({"amount": "Enter what was paid: it must be above nothing."})
    agreed = accepted_of(db, commission_id)
    payment = Payment(
        commission_id=commission_id,
        kind=paid.kind,
        on=paid.on,
        amount_minor=paid.amount_minor,
        currency=agreed.currency if agreed else db.exec(select(Studio.currency)).one(),
        how=paid.how,
        note=paid.note,
        account_id=by.id,
        recorded_at=at,
    )
    db.add(payment)
    db.flush()
    _keep(db, payment, paid.kind, by, at)
    return payment


def take_payment_back(db: Writing, payment_id: int, reason: str, by: Person, at: datetime) -> Payment:
    """Take a wrong entry back by a counter entry, with the reason."""
    wrong = payment_with(db, payment_id)
    locked_commission(db, wrong.commission_id)
    if wrong.kind == "counter":
        raise Conflict("This entry takes another back already. Write the payment down anew if it was right.")
    if db.exec(select(Payment.id).where(Payment.counters_id == payment_id)).first() is not None:
        raise Conflict("This payment is taken back already.")
    if not reason.strip():
        raise Unreadable({"reason": "Say why, in a few words."})
    counter = Payment(
        commission_id=wrong.commission_id,
        kind="counter",
        on=wrong.on,
        amount_minor=wrong.amount_minor,
        currency=wrong.currency,
        note=reason.strip(),
        counters_id=payment_id,
        account_id=by.id,
        recorded_at=at,
    )
    db.add(counter)
    db.flush()
    _keep(db, counter, "payment taken back", by, at, reason.strip())
    return counter


def _keep(db: Writing, payment: Payment, action: str, by: Person, at: datetime, reason: str = "") -> None:
    assert payment.id is not None
    event = Event(at=at, account_id=by.id, action=action, object_kind="payment", object_id=payment.id, reason=reason)
    event.after = f"{payment.amount_minor} {payment.currency}"
    db.add(event)
