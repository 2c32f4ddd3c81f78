"""Seals of events: a chain of digests by which a changed, removed or swapped event is found."""

from sqlalchemy import CheckConstraint
from sqlmodel import Field, SQLModel

from service.records.tables.columns import Whole


class EventSeal(SQLModel, table=True):
    """The digest of one event and of the seal before it; `id` is its place in the chain, from 1.

    The reason is covered by a digest of its own with a salt, so that its words can be erased: then the salt goes too.
    """

    __tablename__ = "event_seal"

    id: int = Field(primary_key=True)
    event_id: int = Field(foreign_key="event.id", unique=True)
    salt: str
    reason_sha256: str
    previous_sha256: str = Field(unique=True)
    sha256: str


class LastSeal(SQLModel, table=True):
    """How many seals there are, and the last of them: whoever seals holds this row, so that the chain has one order."""

    __tablename__ = "last_seal"
    __table_args__ = (CheckConstraint("id = 1", name="only_one"),)

    id: int = Field(default=1, primary_key=True)
    seals: int = Field(default=0, sa_type=Whole)
    sha256: str = ""
