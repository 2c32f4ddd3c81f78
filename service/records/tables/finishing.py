"""The finishing list: what was seen to before a garment is called finished, by whom and when; lines are added only."""

from datetime import datetime

from sqlalchemy import CheckConstraint, Index, Text
from sqlmodel import Field, SQLModel

from service.records.tables.columns import Instant, one_of

FINISHING = (
    "needles",
    "fragments",
    "marks",
    "pressed",
    "closures",
    "loose ends",
    "measured",
    "photos",
)


class FinishingCheck(SQLModel, table=True):
    """One thing seen to (or found undone again); the newest line of a word counts."""

    __tablename__ = "finishing_check"
    __table_args__ = (
        one_of("what", FINISHING),
        CheckConstraint("what <> 'measured' OR NOT done OR length(note) > 0", name="measured_says_what"),
        Index(None, "garment_id", "id"),
    )

    id: int | None = Field(default=None, primary_key=True)
    garment_id: int = Field(foreign_key="garment.id")
    what: str
    done: bool
    note: str = Field(default="", sa_type=Text)
    account_id: int | None = Field(default=None, foreign_key="account.id", index=True)
    at: datetime = Field(sa_type=Instant)
