"""People: accounts with their sign-ins and tokens, stitchers with their hours and days away, clients."""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, Text, text
from sqlmodel import Field, SQLModel

from service.records.tables.columns import Instant, Whole, at_least, between, one_of, said

ROLES = ("owner", "stitcher")
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


class Stitcher(SQLModel, table=True):
    """Somebody who stitches: minutes she works a weekday, what she is paid, the day she left."""

    __table_args__ = (
        said("name"),
        *(between(f"minutes_{day}", 0, 1440) for day in WEEKDAYS),
        at_least("pay_minor_per_hour", 0),
    )

    id: int | None = Field(default=None, primary_key=True)
    name: str = Field(index=True)
    minutes_mon: int = Field(default=0, sa_type=Whole)
    minutes_tue: int = Field(default=0, sa_type=Whole)
    minutes_wed: int = Field(default=0, sa_type=Whole)
    minutes_thu: int = Field(default=0, sa_type=Whole)
    minutes_fri: int = Field(default=0, sa_type=Whole)
    minutes_sat: int = Field(default=0, sa_type=Whole)
    minutes_sun: int = Field(default=0, sa_type=Whole)
    pay_minor_per_hour: int | None = Field(default=None, sa_type=Whole)
    notes: str = Field(default="", sa_type=Text)
    left_on: date | None = None
    created_at: datetime = Field(sa_type=Instant)


class StitcherAway(SQLModel, table=True):
    """Days on which a stitcher does not work, first and last day included."""

    __tablename__ = "stitcher_away"
    __table_args__ = (CheckConstraint("first_day <= last_day", name="days_in_order"),)

    id: int | None = Field(default=None, primary_key=True)
    stitcher_id: int = Field(foreign_key="stitcher.id", index=True)
    first_day: date
    last_day: date
    note: str = Field(default="", sa_type=Text)


class Account(SQLModel, table=True):
    """Somebody who may sign in: the owner, or a stitcher tied to her own record."""

    __table_args__ = (
        one_of("role", ROLES),
        said("email", 254),
        said("name"),
        CheckConstraint("email = lower(email)", name="email_lower"),
        CheckConstraint("role = 'owner' OR stitcher_id IS NOT NULL", name="stitcher_is_known"),
    )

    id: int | None = Field(default=None, primary_key=True)
    email: str = Field(unique=True)
    name: str
    role: str
    password_hash: str
    stitcher_id: int | None = Field(default=None, foreign_key="stitcher.id", unique=True)
    active: bool = True
    created_at: datetime = Field(sa_type=Instant)


class LoginSession(SQLModel, table=True):
    """One signed-in browser; only a digest of its secret is kept.

    `proved_at` is when the password was last given; one that `waits_for_code` has given no more than that yet.
    """

    __tablename__ = "login_session"

    id: int | None = Field(default=None, primary_key=True)
    account_id: int = Field(foreign_key="account.id", index=True)
    secret_sha256: str = Field(unique=True)
    created_at: datetime = Field(sa_type=Instant)
    last_seen_at: datetime = Field(sa_type=Instant)
    ends_at: datetime = Field(sa_type=Instant)
    ended_at: datetime | None = Field(default=None, sa_type=Instant)
    proved_at: datetime | None = Field(default=None, sa_type=Instant)
    device: str = Field(default="", sa_column_kwargs={"server_default": text("''")})
    waits_for_code: bool = Field(default=False, sa_column_kwargs={"server_default": text("false")})


class AccessToken(SQLModel, table=True):
    """A bearer token for a script; only a digest of it is kept."""

    __tablename__ = "access_token"

    id: int | None = Field(default=None, primary_key=True)
    account_id: int = Field(foreign_key="account.id", index=True)
    secret_sha256: str = Field(unique=True)
    created_at: datetime = Field(sa_type=Instant)
    ended_at: datetime | None = Field(default=None, sa_type=Instant)


class Client(SQLModel, table=True):
    """Who asks for the work. Contacts are the owner's alone."""

    __table_args__ = (said("name"),)

    id: int | None = Field(default=None, primary_key=True)
    name: str = Field(index=True)
    email: str = ""
    phone: str = ""
    address: str = Field(default="", sa_type=Text)
    notes: str = Field(default="", sa_type=Text)
    put_away: bool = False
    created_at: datetime = Field(sa_type=Instant)
