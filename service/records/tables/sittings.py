"""Sittings at the table: needles and pins counted out and in, and what each person wishes to be reminded of."""

from datetime import datetime

from sqlalchemy import Index
from sqlmodel import Field, SQLModel

from service.records.tables.columns import Instant, Whole, between, one_of, said

NEEDLE_WAYS = ("out", "in")
MOST_NEEDLES = 1000
LEAST_REST_MINUTES, MOST_REST_MINUTES = 5, 240


class NeedleCount(SQLModel, table=True):
    """Needles and pins as counted at the first (`out`) or the last (`in`) count of a sitting; never edited.

    Another count the same way corrects the one before. `at` is the person's claim, as in the log.
    """

    __tablename__ = "needle_count"
    __table_args__ = (
        said("key", 100),
        one_of("way", NEEDLE_WAYS),
        between("needles", 0, MOST_NEEDLES),
        between("pins", 0, MOST_NEEDLES),
        Index(None, "garment_id", "account_id", "id"),
    )

    id: int | None = Field(default=None, primary_key=True)
    key: str = Field(unique=True)
    account_id: int = Field(foreign_key="account.id", index=True)
    garment_id: int = Field(foreign_key="garment.id")
    step_id: int = Field(foreign_key="step.id", index=True)
    way: str
    needles: int = Field(sa_type=Whole)
    pins: int = Field(sa_type=Whole)
    at: datetime = Field(sa_type=Instant)
    recorded_at: datetime = Field(sa_type=Instant)


class TableWish(SQLModel, table=True):
    """After how many minutes somebody wants to be told to look up; none, not at all. The light is named once."""

    __tablename__ = "table_wish"
    __table_args__ = (between("rest_minutes", LEAST_REST_MINUTES, MOST_REST_MINUTES),)

    id: int | None = Field(default=None, primary_key=True)
    account_id: int = Field(foreign_key="account.id", unique=True)
    rest_minutes: int | None = Field(default=None, sa_type=Whole)
    light_named_at: datetime | None = Field(default=None, sa_type=Instant)
