"""What a client asks for: garments for one day, and the least that must be known of the child."""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, Index, Text, text
from sqlmodel import Field, SQLModel

from service.records.tables.columns import Instant, Whole, between, one_of, said

COMMISSION_STATES = ("asked", "quoted", "agreed", "closed", "called off")
SEXES = ("girl", "boy")
MEASURES = ("length", "head", "weight")


class Commission(SQLModel, table=True):
    """One commission, wanted on one day.

    The client's window names the week in which a piece is expected as far as `week_let_to`, and none while it is held.
    """

    __table_args__ = (
        said("title"),
        one_of("state", COMMISSION_STATES),
        one_of("child_sex", SEXES),
        between("gestation_weeks", 22, 44),
        CheckConstraint("child_born IS NOT NULL OR NOT born_is_due", name="due_day_known"),
        Index(None, "state", "wanted_on"),
    )

    id: int | None = Field(default=None, primary_key=True)
    client_id: int = Field(foreign_key="client.id", index=True)
    title: str
    occasion: str = ""
    wanted_on: date
    state: str = "asked"
    child_sex: str | None = None
    child_born: date | None = None
    born_is_due: bool = False
    gestation_weeks: int | None = Field(default=None, sa_type=Whole)
    notes: str = Field(default="", sa_type=Text)
    created_at: datetime = Field(sa_type=Instant)
    week_held: bool = Field(default=False, sa_column_kwargs={"server_default": text("false")})
    week_let_to: date | None = None


class ChildMeasure(SQLModel, table=True):
    """One reading of the child: lying length or head in µm, or weight in g, and the day it was taken."""

    __tablename__ = "child_measure"
    __table_args__ = (
        one_of("what", MEASURES),
        CheckConstraint(
            "(what = 'weight' AND value_g IS NOT NULL AND value_um IS NULL)"
            " OR (what <> 'weight' AND value_um IS NOT NULL AND value_g IS NULL)",
            name="value_of_what",
        ),
        between("value_um", 1, 2_000_000),
        between("value_g", 1, 50_000),
    )

    id: int | None = Field(default=None, primary_key=True)
    commission_id: int = Field(foreign_key="commission.id", index=True)
    what: str
    value_um: int | None = Field(default=None, sa_type=Whole)
    value_g: int | None = Field(default=None, sa_type=Whole)
    on: date
