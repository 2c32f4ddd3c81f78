"""What the studio charges, what it quoted, and what was paid. Money is whole minor units, percentages hundredths."""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, Index, Text, UniqueConstraint, text
from sqlmodel import Field, SQLModel

from service.records.tables.columns import Instant, Whole, at_least, between, one_of, said

QUOTE_STATES = ("draft", "sent", "accepted", "lapsed", "taken back")
QUOTE_KINDS = ("quote", "alteration")
WORKED_KINDS = ("labour", "risk", "overhead", "work")
MATERIAL_KINDS = ("cloth", "thread", "supply", "other")
CLOSING_KINDS = ("margin", "fee", "held", "rounding", "tax")
LINE_KINDS = (*WORKED_KINDS, *MATERIAL_KINDS, *CLOSING_KINDS)
DUES = ("at acceptance", "before the day", "at delivery")
PAYMENT_KINDS = ("paid", "given back", "counter")
EMPTY = {"server_default": text("''")}


def _one_of_a_commission(name: str, condition: str, *columns: str) -> Index:
    """At most one row of a commission for which the condition holds."""
    return Index(
        name, "commission_id", *columns, unique=True, sqlite_where=text(condition), postgresql_where=text(condition)
    )


class Charges(SQLModel, table=True):
    """What the studio charges: one row, absent until the owner has said it.

    `dearness_tenths` says how many times as dear an hour too few in a quote is as one too many.
    """

    __table_args__ = (
        CheckConstraint("id = 1", name="only_one"),
        at_least("hour_rate_minor", 1),
        at_least("overhead_minor_per_hour", 0),
        between("margin_hundredths", 0, 10_000),
        at_least("price_step_minor", 1),
        between("tax_hundredths", 0, 10_000),
        between("valid_days", 1, 365),
        between("dearness_tenths", 10, 90),
        at_least("alteration_fee_minor", 0),
        between("skein_um", 1_000_000, 10_000_000_000),
    )

    id: int = Field(default=1, primary_key=True)
    hour_rate_minor: int = Field(sa_type=Whole)
    overhead_minor_per_hour: int = Field(default=0, sa_type=Whole)
    margin_hundredths: int = Field(default=0, sa_type=Whole)
    price_step_minor: int = Field(default=1, sa_type=Whole)
    tax_name: str = ""
    tax_hundredths: int = Field(default=0, sa_type=Whole)
    valid_days: int = Field(default=30, sa_type=Whole)
    dearness_tenths: int = Field(default=20, sa_type=Whole)
    alteration_fee_minor: int = Field(default=0, sa_type=Whole)
    skein_um: int = Field(default=8_000_000, sa_type=Whole)
    includes: str = Field(default="", sa_type=Text)
    leaves_out: str = Field(default="", sa_type=Text)


class ChargesInstalment(SQLModel, table=True):
    """One part in which the studio asks for a price, and when it is due; the parts come to the whole."""

    __tablename__ = "charges_instalment"
    __table_args__ = (
        UniqueConstraint("position"),
        between("percent_hundredths", 1, 10_000),
        one_of("due", DUES),
        between("days_before", 1, 1000),
        CheckConstraint("(due = 'before the day') = (days_before IS NOT NULL)", name="days_where_needed"),
    )

    id: int | None = Field(default=None, primary_key=True)
    position: int = Field(sa_type=Whole)
    percent_hundredths: int = Field(sa_type=Whole)
    due: str
    days_before: int | None = Field(default=None, sa_type=Whole)


class Quote(SQLModel, table=True):
    """A quote, or the quote of an alteration. A draft may change; once sent its content is sealed by a digest.

    The hours are of the work left when it was reckoned; the rates are those of that moment, and so is the day it is
    wanted on. Whom it is for, what it is called and whom it comes from are written into it as it is sealed. Of a
    commission one quote at most is accepted, and of each kind one draft and one sent at most.
    """

    __table_args__ = (
        UniqueConstraint("commission_id", "kind", "version"),
        one_of("kind", QUOTE_KINDS),
        one_of("state", QUOTE_STATES),
        at_least("version", 1),
        said("currency", 3),
        at_least("likely_ms", 0),
        CheckConstraint("kind <> 'quote' OR likely_ms <= quoted_ms", name="quoted_is_not_below_likely"),
        between("chance_hundredths", 5_000, 9_000),
        at_least("hour_rate_minor", 0),
        at_least("overhead_minor_per_hour", 0),
        between("margin_hundredths", 0, 10_000),
        at_least("price_step_minor", 1),
        between("tax_hundredths", 0, 10_000),
        CheckConstraint("price_minor + tax_minor = total_minor", name="total_adds_up"),
        CheckConstraint("(state = 'draft') = (sealed_sha256 = '')", name="sealed_once_sent"),
        CheckConstraint("(state = 'draft') = (sent_at IS NULL)", name="sent_has_its_time"),
        CheckConstraint("(state = 'accepted') <= (accepted_at IS NOT NULL)", name="accepted_has_its_time"),
        CheckConstraint("accepted_at IS NULL OR length(accepted_name) > 0", name="accepted_by_somebody"),
        _one_of_a_commission("one_accepted", "state = 'accepted' AND kind = 'quote'"),
        _one_of_a_commission("one_draft_of_a_kind", "state = 'draft'", "kind"),
        _one_of_a_commission("one_sent_of_a_kind", "state = 'sent'", "kind"),
        Index(None, "state", "valid_until"),
    )

    id: int | None = Field(default=None, primary_key=True)
    commission_id: int = Field(foreign_key="commission.id", index=True)
    kind: str = "quote"
    version: int = Field(sa_type=Whole)
    state: str = "draft"
    currency: str
    likely_ms: int = Field(sa_type=Whole)
    quoted_ms: int = Field(sa_type=Whole)
    worst_ms: int = Field(sa_type=Whole)
    chance_hundredths: int = Field(sa_type=Whole)
    mostly_guesses: bool = False
    hour_rate_minor: int = Field(sa_type=Whole)
    overhead_minor_per_hour: int = Field(sa_type=Whole)
    margin_hundredths: int = Field(sa_type=Whole)
    price_step_minor: int = Field(sa_type=Whole)
    tax_name: str = ""
    tax_hundredths: int = Field(default=0, sa_type=Whole)
    price_minor: int = Field(sa_type=Whole)
    tax_minor: int = Field(sa_type=Whole)
    total_minor: int = Field(sa_type=Whole)
    valid_until: date
    shows_hours: bool = False
    includes: str = Field(default="", sa_type=Text)
    leaves_out: str = Field(default="", sa_type=Text)
    note: str = Field(default="", sa_type=Text)
    reckoned_at: datetime = Field(sa_type=Instant)
    sent_at: datetime | None = Field(default=None, sa_type=Instant)
    sealed_sha256: str = ""
    accepted_at: datetime | None = Field(default=None, sa_type=Instant)
    accepted_name: str = ""
    accepted_by_id: int | None = Field(default=None, foreign_key="account.id", index=True)
    taken_back_reason: str = Field(default="", sa_type=Text)
    wanted_on: date | None = None
    client_name: str = Field(default="", sa_column_kwargs=EMPTY)
    title: str = Field(default="", sa_column_kwargs=EMPTY)
    occasion: str = Field(default="", sa_column_kwargs=EMPTY)
    studio_name: str = Field(default="", sa_column_kwargs=EMPTY)
    made_by: str = Field(default="", sa_column_kwargs=EMPTY)


class QuoteLine(SQLModel, table=True):
    """One line of what a quote comes to; `source` says where its figure comes from.

    A line that the owner wrote or changed is `by_hand` and stays when the draft is reckoned again; one that she took
    out is `left_out` and counts for nothing.
    """

    __tablename__ = "quote_line"
    __table_args__ = (
        UniqueConstraint("quote_id", "key"),
        one_of("kind", LINE_KINDS),
        said("key", 300),
        said("words", 300),
    )

    id: int | None = Field(default=None, primary_key=True)
    quote_id: int = Field(foreign_key="quote.id")
    position: int = Field(sa_type=Whole)
    key: str
    kind: str
    words: str
    source: str = Field(default="", sa_type=Text)
    amount_minor: int = Field(sa_type=Whole)
    by_hand: bool = False
    left_out: bool = False


class QuoteGarment(SQLModel, table=True):
    """A garment that a quote is for, with its share of the hours and of the price; the shares add up."""

    __tablename__ = "quote_garment"
    __table_args__ = (UniqueConstraint("quote_id", "garment_id"), said("name", 300))

    id: int | None = Field(default=None, primary_key=True)
    quote_id: int = Field(foreign_key="quote.id")
    garment_id: int = Field(foreign_key="garment.id", index=True)
    position: int = Field(sa_type=Whole)
    name: str
    quoted_ms: int = Field(sa_type=Whole)
    price_minor: int = Field(sa_type=Whole)


class QuoteWork(SQLModel, table=True):
    """Work that an alteration adds to a garment or takes from it; without an operation, all of the garment's work."""

    __tablename__ = "quote_work"
    __table_args__ = (
        UniqueConstraint("quote_id", "garment_id", "operation"),
        CheckConstraint("change_tenths <> 0", name="changes_something"),
    )

    id: int | None = Field(default=None, primary_key=True)
    quote_id: int = Field(foreign_key="quote.id")
    garment_id: int = Field(foreign_key="garment.id", index=True)
    operation: str = ""
    change_tenths: int = Field(sa_type=Whole)


class QuoteInstalment(SQLModel, table=True):
    """One part of a quote's total and when it is due; `due_on` is the day where it is known beforehand."""

    __tablename__ = "quote_instalment"
    __table_args__ = (
        UniqueConstraint("quote_id", "position"),
        between("percent_hundredths", 1, 10_000),
        one_of("due", DUES),
        CheckConstraint("(due = 'before the day') = (due_on IS NOT NULL)", name="day_where_known"),
    )

    id: int | None = Field(default=None, primary_key=True)
    quote_id: int = Field(foreign_key="quote.id")
    position: int = Field(sa_type=Whole)
    percent_hundredths: int = Field(sa_type=Whole)
    due: str
    due_on: date | None = None
    amount_minor: int = Field(sa_type=Whole)


class Payment(SQLModel, table=True):
    """Money that came from a client or went back to her; a wrong entry is taken back by a counter, never edited."""

    __table_args__ = (
        one_of("kind", PAYMENT_KINDS),
        at_least("amount_minor", 1),
        said("currency", 3),
        UniqueConstraint("counters_id"),
        CheckConstraint("(kind = 'counter') = (counters_id IS NOT NULL)", name="counter_names_its_entry"),
        CheckConstraint("kind = 'counter' OR length(how) > 0", name="how_it_came"),
    )

    id: int | None = Field(default=None, primary_key=True)
    commission_id: int = Field(foreign_key="commission.id", index=True)
    kind: str = "paid"
    on: date
    amount_minor: int = Field(sa_type=Whole)
    currency: str
    how: str = ""
    note: str = Field(default="", sa_type=Text)
    counters_id: int | None = Field(default=None, foreign_key="payment.id")
    account_id: int | None = Field(default=None, foreign_key="account.id", index=True)
    recorded_at: datetime = Field(sa_type=Instant)
