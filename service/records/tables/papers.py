"""What the papers say beyond the work itself: fibres by percent, who the maker is, the risks considered."""

from datetime import datetime

from sqlalchemy import CheckConstraint, Text, UniqueConstraint
from sqlmodel import Field, SQLModel

from service.records.tables.columns import Instant, Whole, between, said


class ClothFibre(SQLModel, table=True):
    """One fibre of a cloth and its share by weight, in hundredths of a percent."""

    __tablename__ = "cloth_fibre"
    __table_args__ = (
        UniqueConstraint("cloth_id", "fibre"),
        said("fibre", 60),
        between("share_bp", 1, 10_000),
    )

    id: int | None = Field(default=None, primary_key=True)
    cloth_id: int = Field(foreign_key="cloth.id", index=True)
    fibre: str
    share_bp: int = Field(sa_type=Whole)


class Maker(SQLModel, table=True):
    """Who made it, as labels and files name the maker: place, postal and electronic address."""

    __table_args__ = (CheckConstraint("id = 1", name="only_one"),)

    id: int = Field(default=1, primary_key=True)
    place: str = ""
    postal_address: str = Field(default="", sa_type=Text)
    electronic_address: str = ""


class RiskConsidered(SQLModel, table=True):
    """A risk that was considered for a garment, and what was done about it; one no longer true is set aside."""

    __tablename__ = "risk_considered"
    __table_args__ = (said("risk", 1000), said("answer", 2000))

    id: int | None = Field(default=None, primary_key=True)
    garment_id: int = Field(foreign_key="garment.id", index=True)
    risk: str = Field(sa_type=Text)
    answer: str = Field(sa_type=Text)
    account_id: int | None = Field(default=None, foreign_key="account.id", index=True)
    at: datetime = Field(sa_type=Instant)
    set_aside_at: datetime | None = Field(default=None, sa_type=Instant)
