"""What was reckoned for a garment and kept with it."""

from datetime import datetime

from sqlalchemy import Text
from sqlmodel import Field, SQLModel

from service.records.tables.columns import Instant, said


class KeptResult(SQLModel, table=True):
    """One answer of the reckoner, kept on a garment: what was asked and what was answered, both as JSON.

    `route` names the question ("tucks"); `asked` holds the fields of its page by name, so that it can be asked again.
    """

    __tablename__ = "kept_result"
    __table_args__ = (said("route", 40),)

    id: int | None = Field(default=None, primary_key=True)
    garment_id: int = Field(foreign_key="garment.id", index=True)
    route: str
    asked: str = Field(sa_type=Text)
    answer: str = Field(sa_type=Text)
    account_id: int | None = Field(default=None, foreign_key="account.id", index=True)
    at: datetime = Field(sa_type=Instant)
