"""What is paid to stitchers: each sum written down once, a wrong one taken back by another entry; a new pay an hour."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.exc import IntegrityError
from sqlmodel import col, select

from service.errors import Conflict, NotFound
from service.reckoning.pay import Before, pay_from
from service.records.db import Reading, Writing
from service.records.tables import EarlierPay, Event, Stitcher, StitcherPayment
from service.studio.stitchers import stitcher_with

PAY_CHANGED = "paid otherwise"


@dataclass(frozen=True, slots=True)
class PaymentAsk:
    """So much was paid to a stitcher on a day; the same `key` counts once however often it is sent."""

    key: str
    stitcher_id: int
    amount_minor: int
    paid_on: date
    note: str = ""


def pay_stitcher(db: Writing, ask: PaymentAsk, account_id: int, at: datetime) -> StitcherPayment:
    """Write a payment down; sent twice it stands once."""
    stitcher_with(db, ask.stitcher_id)
    seen = db.exec(select(StitcherPayment).where(StitcherPayment.key == ask.key)).first()
    if seen is not None:
        if (seen.stitcher_id, seen.amount_minor, seen.paid_on) != (ask.stitcher_id, ask.amount_minor, ask.paid_on):
            raise Conflict("This page wrote down another payment already. Open it again, then write this one.")
        return seen
    row = StitcherPayment(
        key=ask.key,
        stitcher_id=ask.stitcher_id,
        amount_minor=ask.amount_minor,
        paid_on=ask.paid_on,
        note=ask.note,
        account_id=account_id,
        recorded_at=at,
    )
    return _kept(db, row)


def take_back_payment(
    db: Writing, stitcher_id: int, payment_id: int, account_id: int, today: date, at: datetime
) -> StitcherPayment:
    """Take a wrong payment back, all of it."""
    wrong = db.get(StitcherPayment, payment_id)
    if wrong is None or wrong.kind != "paid" or wrong.stitcher_id != stitcher_id:
        raise NotFound("There is no such payment to take back.")
    if db.exec(select(StitcherPayment.id).where(StitcherPayment.counters_id == payment_id)).first() is not None:
        raise Conflict("That payment was taken back already.")
    row = StitcherPayment(
        key=f"takes back {payment_id}",
        stitcher_id=stitcher_id,
        kind="counter",
        amount_minor=wrong.amount_minor,
        paid_on=today,
        counters_id=payment_id,
        account_id=account_id,
        recorded_at=at,
    )
    return _kept(db, row)


def payments_to(db: Reading | Writing, stitcher_id: int) -> list[StitcherPayment]:
    """Every entry of a stitcher's payments, the newest first."""
    found = select(StitcherPayment).where(StitcherPayment.stitcher_id == stitcher_id)
    return list(db.exec(found.order_by(col(StitcherPayment.id).desc())))


def every_payment(db: Reading | Writing) -> list[tuple[StitcherPayment, str]]:
    """Every entry with its stitcher's name, in the order in which they were written down."""
    found = select(StitcherPayment, Stitcher.name).join(Stitcher, col(StitcherPayment.stitcher_id) == Stitcher.id)
    return [(row, name) for row, name in db.exec(found.order_by(col(StitcherPayment.id)))]


def set_pay(db: Writing, stitcher_id: int, per_hour: int | None, day: date, account_id: int, at: datetime) -> None:
    """Let another pay an hour count for work from that day on; work before it keeps the pay it had."""
    stitcher = db.exec(
        select(Stitcher).where(Stitcher.id == stitcher_id).with_for_update().execution_options(populate_existing=True)
    ).first()
    if stitcher is None:
        raise NotFound("There is no such stitcher.")
    if stitcher.pay_minor_per_hour == per_hour:
        return
    rows = list(db.exec(select(EarlierPay).where(EarlierPay.stitcher_id == stitcher_id)))
    earlier = [Before(row.before_day, row.pay_minor_per_hour) for row in rows]
    for row in rows:
        db.delete(row)
    db.flush()
    for each in pay_from(day, stitcher.pay_minor_per_hour, earlier):
        db.add(EarlierPay(stitcher_id=stitcher_id, before_day=each.day, pay_minor_per_hour=each.per_hour))
    before, stitcher.pay_minor_per_hour = stitcher.pay_minor_per_hour, per_hour
    db.add(stitcher)
    db.add(
        Event(
            at=at,
            account_id=account_id,
            action=PAY_CHANGED,
            object_kind="stitcher",
            object_id=stitcher_id,
            reason=f"from {day.isoformat()} on",
            before="" if before is None else str(before),
            after="" if per_hour is None else str(per_hour),
        )
    )


def _kept(db: Writing, row: StitcherPayment) -> StitcherPayment:
    db.add(row)
    try:
        db.flush()
    except IntegrityError as error:
        raise Conflict("That was written down already, a moment ago. Look at her account again.") from error
    return row
