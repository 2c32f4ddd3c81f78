"""Cloth and supplies: what is on the shelf, how its threads were counted, and where it went."""

from datetime import datetime

from sqlalchemy import Text, text
from sqlmodel import Field, SQLModel

from service.records.tables.columns import Instant, Whole, at_least, between, one_of, said

SYSTEMS = ("warp", "weft")
USE_KINDS = ("bought", "cut", "corrected", "given back")
SUPPLY_KINDS = ("lace", "ribbon", "button", "thread", "other")
SUPPLY_UNITS = ("m", "piece", "skein")


class Cloth(SQLModel, table=True):
    """One bolt on the shelf. `on_hand_um` always equals the sum of its uses.

    Shrinkage of nothing is not known, unless it keeps its length along that system, as said or measured.
    """

    __table_args__ = (
        said("name"),
        said("fibre"),
        at_least("width_um", 1),
        at_least("on_hand_um", 0),
        at_least("weight_mg_per_m2", 1),
        between("shrink_warp_bp", 0, 5000),
        between("shrink_weft_bp", 0, 5000),
        at_least("price_minor_per_m", 0),
    )

    id: int | None = Field(default=None, primary_key=True)
    name: str = Field(index=True)
    fibre: str
    width_um: int = Field(sa_type=Whole)
    on_hand_um: int = Field(default=0, sa_type=Whole)
    weight_mg_per_m2: int | None = Field(default=None, sa_type=Whole)
    shrink_warp_bp: int = Field(default=0, sa_type=Whole)
    shrink_weft_bp: int = Field(default=0, sa_type=Whole)
    keeps_its_warp: bool = Field(default=False, sa_column_kwargs={"server_default": text("false")})
    keeps_its_weft: bool = Field(default=False, sa_column_kwargs={"server_default": text("false")})
    price_minor_per_m: int | None = Field(default=None, sa_type=Whole)
    notes: str = Field(default="", sa_type=Text)
    put_away: bool = False
    created_at: datetime = Field(sa_type=Instant)


class ClothReading(SQLModel, table=True):
    """So many threads of one system counted over so much cloth, at one place."""

    __tablename__ = "cloth_reading"
    __table_args__ = (
        one_of("system", SYSTEMS),
        between("threads", 1, 100_000),
        between("over_um", 1, 10_000_000),
    )

    id: int | None = Field(default=None, primary_key=True)
    cloth_id: int = Field(foreign_key="cloth.id", index=True)
    system: str
    threads: int = Field(sa_type=Whole)
    over_um: int = Field(sa_type=Whole)
    place: str = ""
    set_aside: bool = False
    account_id: int | None = Field(default=None, foreign_key="account.id", index=True)
    read_at: datetime = Field(sa_type=Instant)


class ClothSwatch(SQLModel, table=True):
    """One length of a swatch along one system, before and after washing; those of one moment are one test."""

    __tablename__ = "cloth_swatch"
    __table_args__ = (
        one_of("system", SYSTEMS),
        between("before_um", 1, 10_000_000),
        between("after_um", 1, 10_000_000),
    )

    id: int | None = Field(default=None, primary_key=True)
    cloth_id: int = Field(foreign_key="cloth.id", index=True)
    system: str
    before_um: int = Field(sa_type=Whole)
    after_um: int = Field(sa_type=Whole)
    washed: str = Field(default="", sa_type=Text)
    account_id: int | None = Field(default=None, foreign_key="account.id", index=True)
    measured_at: datetime = Field(sa_type=Instant)


class ClothUse(SQLModel, table=True):
    """A length of cloth that came (above zero) or went (below zero), and why."""

    __tablename__ = "cloth_use"
    __table_args__ = (one_of("kind", USE_KINDS),)

    id: int | None = Field(default=None, primary_key=True)
    cloth_id: int = Field(foreign_key="cloth.id", index=True)
    garment_id: int | None = Field(default=None, foreign_key="garment.id", index=True)
    panel_id: int | None = Field(default=None, foreign_key="panel.id", index=True)
    kind: str
    change_um: int = Field(sa_type=Whole)
    reason: str = Field(default="", sa_type=Text)
    account_id: int | None = Field(default=None, foreign_key="account.id", index=True)
    at: datetime = Field(sa_type=Instant)


class Supply(SQLModel, table=True):
    """Lace, ribbon, buttons, thread. `on_hand_thousandths` of its unit equals the sum of its uses."""

    __table_args__ = (
        said("name"),
        one_of("kind", SUPPLY_KINDS),
        one_of("unit", SUPPLY_UNITS),
        at_least("on_hand_thousandths", 0),
        at_least("price_minor", 0),
    )

    id: int | None = Field(default=None, primary_key=True)
    name: str = Field(index=True)
    kind: str
    unit: str
    on_hand_thousandths: int = Field(default=0, sa_type=Whole)
    price_minor: int | None = Field(default=None, sa_type=Whole)
    notes: str = Field(default="", sa_type=Text)
    put_away: bool = False
    created_at: datetime = Field(sa_type=Instant)


class SupplyUse(SQLModel, table=True):
    """So much of a supply that came (above zero) or went (below zero), and why."""

    __tablename__ = "supply_use"
    __table_args__ = (one_of("kind", USE_KINDS),)

    id: int | None = Field(default=None, primary_key=True)
    supply_id: int = Field(foreign_key="supply.id", index=True)
    garment_id: int | None = Field(default=None, foreign_key="garment.id", index=True)
    kind: str
    change_thousandths: int = Field(sa_type=Whole)
    reason: str = Field(default="", sa_type=Text)
    account_id: int | None = Field(default=None, foreign_key="account.id", index=True)
    at: datetime = Field(sa_type=Instant)
