"""The studio itself, one row of settings, and the events that tell who changed what."""

from datetime import datetime

from sqlalchemy import CheckConstraint, Index, Text, text
from sqlmodel import Field, SQLModel

from service.records.tables.columns import Instant, Whole, between, one_of, said

LENGTH_UNITS = ("cm", "in")
SPOKEN = ("en", "de")


class Studio(SQLModel, table=True):
    """Settings of the one studio in this data folder."""

    __table_args__ = (
        CheckConstraint("id = 1", name="only_one"),
        said("name"),
        said("time_zone", 64),
        CheckConstraint("length(currency) = 3", name="currency_code"),
        one_of("length_unit", LENGTH_UNITS),
        one_of("count_unit", LENGTH_UNITS),
        one_of("language", SPOKEN),
        between("usual_minutes_a_day", 1, 1440),
    )

    id: int = Field(default=1, primary_key=True)
    name: str
    time_zone: str = "Europe/London"
    currency: str = "EUR"
    length_unit: str = "cm"
    count_unit: str = "cm"
    numbers: str = Field(default="en_GB", sa_column_kwargs={"server_default": "en_GB"})
    language: str = Field(default="en", sa_column_kwargs={"server_default": "en"})
    usual_minutes_a_day: int = Field(default=90, sa_type=Whole)
    is_demo: bool = False
    second_step_needed: bool = Field(default=False, sa_column_kwargs={"server_default": text("false")})
    created_at: datetime = Field(sa_type=Instant)


class LookedAt(SQLModel, table=True):
    """When somebody last looked at what the others had done."""

    __tablename__ = "looked_at"

    id: int | None = Field(default=None, primary_key=True)
    account_id: int = Field(foreign_key="account.id", unique=True)
    at: datetime = Field(sa_type=Instant)


class Event(SQLModel, table=True):
    """One change worth keeping: who, when, on what, why, and how it stood before. Never altered."""

    __table_args__ = (said("action", 64), said("object_kind", 64), Index(None, "object_kind", "object_id"))

    id: int | None = Field(default=None, primary_key=True)
    at: datetime = Field(sa_type=Instant)
    account_id: int | None = Field(default=None, foreign_key="account.id", index=True)
    garment_id: int | None = Field(default=None, foreign_key="garment.id", index=True)
    action: str
    object_kind: str
    object_id: int = Field(sa_type=Whole)
    reason: str = Field(default="", sa_type=Text)
    before: str = Field(default="", sa_type=Text)
    after: str = Field(default="", sa_type=Text)
