"""What the diary is told beyond the work itself: planned hands, more minutes for a while, links to the calendar."""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, Index
from sqlmodel import Field, SQLModel

from service.records.tables.columns import Instant, Whole, between, one_of
from service.records.tables.people import WEEKDAYS


class PlannedHands(SQLModel, table=True):
    """Whose hands a panel, or without one the work on the joined garment, is to go into.

    The newest of one part counts, as long as it has not `ended_at` and the part is still in the hands it was in when
    this was decided: what really changed hands goes before what was planned.
    """

    __tablename__ = "planned_hands"
    __table_args__ = (Index(None, "garment_id", "id"),)

    id: int | None = Field(default=None, primary_key=True)
    garment_id: int = Field(foreign_key="garment.id")
    panel_id: int | None = Field(default=None, foreign_key="panel.id", index=True)
    stitcher_id: int = Field(foreign_key="stitcher.id", index=True)
    was_with_id: int | None = Field(default=None, foreign_key="stitcher.id", index=True)
    account_id: int | None = Field(default=None, foreign_key="account.id", index=True)
    at: datetime = Field(sa_type=Instant)
    ended_at: datetime | None = Field(default=None, sa_type=Instant)


class ExtraMinutes(SQLModel, table=True):
    """So many minutes more than usual on one weekday, from a first to a last day."""

    __tablename__ = "extra_minutes"
    __table_args__ = (
        one_of("weekday", WEEKDAYS),
        between("minutes", 1, 1440),
        CheckConstraint("first_day <= last_day", name="days_in_order"),
    )

    id: int | None = Field(default=None, primary_key=True)
    stitcher_id: int = Field(foreign_key="stitcher.id", index=True)
    weekday: str
    minutes: int = Field(sa_type=Whole)
    first_day: date
    last_day: date
    account_id: int | None = Field(default=None, foreign_key="account.id", index=True)
    at: datetime = Field(sa_type=Instant)


class CalendarLink(SQLModel, table=True):
    """A secret address at which somebody's calendar reads the days; only a digest of the secret is kept."""

    __tablename__ = "calendar_link"

    id: int | None = Field(default=None, primary_key=True)
    account_id: int = Field(foreign_key="account.id", index=True)
    secret_sha256: str = Field(unique=True)
    with_clients: bool = False
    created_at: datetime = Field(sa_type=Instant)
    ended_at: datetime | None = Field(default=None, sa_type=Instant)
