"""Clients whose personal data was erased, and how long data is kept: numbers and times only, nobody's name."""

from datetime import datetime

from sqlalchemy import CheckConstraint
from sqlmodel import Field, SQLModel

from service.records.tables.columns import Instant, Whole, between


class Erasure(SQLModel, table=True):
    """One client whose personal data was erased; re-applied after an older backup is put back."""

    id: int | None = Field(default=None, primary_key=True)
    client_id: int = Field(foreign_key="client.id", unique=True)
    account_id: int | None = Field(default=None, foreign_key="account.id", index=True)
    at: datetime = Field(sa_type=Instant)


class Keeping(SQLModel, table=True):
    """For how many days after the last delivery a client's data is kept before its erasure is proposed."""

    __table_args__ = (CheckConstraint("id = 1", name="only_one"), between("client_days", 1, 36_500))

    id: int = Field(default=1, primary_key=True)
    client_days: int = Field(default=3653, sa_type=Whole)
