"""Designs, each kept as the readable text that seed_data also holds."""

from datetime import datetime

from sqlalchemy import Text
from sqlmodel import Field, SQLModel

from service.records.tables.columns import Instant, one_of, said

DESIGN_STATES = ("current", "redrawn", "put away")


class Design(SQLModel, table=True):
    """A garment as drawn up. `document` is its whole text; `key` is its name in files."""

    __table_args__ = (said("key", 80), said("name"), one_of("state", DESIGN_STATES))

    id: int | None = Field(default=None, primary_key=True)
    key: str = Field(index=True)
    name: str = Field(index=True)
    state: str = "current"
    document: str = Field(sa_type=Text)
    redrawn_from_id: int | None = Field(default=None, foreign_key="design.id", index=True)
    created_at: datetime = Field(sa_type=Instant)
