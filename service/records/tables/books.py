"""What the owner guesses of paces, and what stitchers are paid."""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, Index, Text, UniqueConstraint
from sqlmodel import Field, SQLModel

from service.records.tables.columns import Instant, Whole, at_least, between, one_of, said

PAYMENT_KINDS = ("paid", "counter")
MOST_UNIT_MS = 36_000_000


class RateGuess(SQLModel, table=True):
    """What the owner guessed one unit of an operation takes, at 20 threads per cm: the newest row of one counts.

    Without a time the starting guess counts again. Never altered, so that what was guessed when can be told.
    """

    __tablename__ = "rate_guess"
    __table_args__ = (said("operation", 40), between("unit_ms", 1, MOST_UNIT_MS), Index(None, "operation", "id"))

    id: int | None = Field(default=None, primary_key=True)
    operation: str
    unit_ms: int | None = Field(default=None, sa_type=Whole)
    account_id: int | None = Field(default=None, foreign_key="account.id", index=True)
    at: datetime = Field(sa_type=Instant)


class EarlierPay(SQLModel, table=True):
    """What a stitcher was paid an hour for work before a day, where that was not what she is paid now."""

    __tablename__ = "earlier_pay"
    __table_args__ = (UniqueConstraint("stitcher_id", "before_day"), at_least("pay_minor_per_hour", 0))

    id: int | None = Field(default=None, primary_key=True)
    stitcher_id: int = Field(foreign_key="stitcher.id")
    before_day: date
    pay_minor_per_hour: int | None = Field(default=None, sa_type=Whole)


class StitcherPayment(SQLModel, table=True):
    """One sum paid to a stitcher, or the counter entry that takes one back; never altered."""

    __tablename__ = "stitcher_payment"
    __table_args__ = (
        said("key", 100),
        one_of("kind", PAYMENT_KINDS),
        at_least("amount_minor", 1),
        CheckConstraint("(kind = 'counter') = (counters_id IS NOT NULL)", name="counter_names_one"),
    )

    id: int | None = Field(default=None, primary_key=True)
    key: str = Field(unique=True)
    stitcher_id: int = Field(foreign_key="stitcher.id", index=True)
    kind: str = "paid"
    amount_minor: int = Field(sa_type=Whole)
    paid_on: date
    note: str = Field(default="", sa_type=Text)
    counters_id: int | None = Field(default=None, foreign_key="stitcher_payment.id", unique=True)
    account_id: int | None = Field(default=None, foreign_key="account.id", index=True)
    recorded_at: datetime = Field(sa_type=Instant)
