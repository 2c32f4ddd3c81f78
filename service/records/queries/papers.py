"""What went into garments, for the files that are kept of them."""

from collections.abc import Sequence
from datetime import datetime
from typing import NamedTuple

from sqlalchemy import func, select
from sqlmodel import col

from service.records.db import Reading, Writing
from service.records.tables import Cloth, ClothUse, Garment, Panel, Stitcher, Supply, SupplyUse, Tally


class Material(NamedTuple):
    """So much of a cloth (µm) or supply (thousandths of its unit) that a garment took."""

    garment_id: int
    name: str
    unit: str
    amount: int


class Maker(NamedTuple):
    """Somebody who worked on a garment, and from when to when."""

    garment_id: int
    name: str
    first: datetime
    last: datetime


def garments_in_file(db: Reading | Writing, commission_id: int) -> list[Garment]:
    """The garments of a commission, in the order in which they were made for it."""
    found = select(Garment).where(col(Garment.commission_id) == commission_id).order_by(col(Garment.id))
    return list(db.execute(found).scalars())


def cloths_cut(db: Reading | Writing, garment_ids: Sequence[int]) -> list[Material]:
    """The lengths of cloth that these garments took, less what was given back."""
    found = (
        select(col(ClothUse.garment_id), col(Cloth.name), -func.sum(ClothUse.change_um))
        .join(Cloth, col(ClothUse.cloth_id) == Cloth.id)
        .where(col(ClothUse.garment_id).in_(garment_ids))
        .group_by(col(ClothUse.garment_id), col(Cloth.id), col(Cloth.name))
        .order_by(col(Cloth.name))
    )
    return [Material(garment, name, "cloth", int(amount)) for garment, name, amount in db.execute(found) if amount]


def supplies_used(db: Reading | Writing, garment_ids: Sequence[int]) -> list[Material]:
    """The lace, ribbon, buttons and thread that these garments took, less what was given back."""
    found = (
        select(col(SupplyUse.garment_id), col(Supply.name), col(Supply.unit), -func.sum(SupplyUse.change_thousandths))
        .join(Supply, col(SupplyUse.supply_id) == Supply.id)
        .where(col(SupplyUse.garment_id).in_(garment_ids))
        .group_by(col(SupplyUse.garment_id), col(Supply.id), col(Supply.name), col(Supply.unit))
        .order_by(col(Supply.name))
    )
    return [Material(garment, name, unit, int(amount)) for garment, name, unit, amount in db.execute(found) if amount]


def who_worked(db: Reading | Writing, garment_ids: Sequence[int]) -> list[Maker]:
    """Everybody who counted work on these garments."""
    found = (
        select(col(Tally.garment_id), col(Stitcher.name), func.min(Tally.at), func.max(Tally.at))
        .join(Stitcher, col(Tally.stitcher_id) == Stitcher.id)
        .where(col(Tally.garment_id).in_(garment_ids), col(Tally.kind) == "work")
        .group_by(col(Tally.garment_id), col(Stitcher.id), col(Stitcher.name))
        .order_by(col(Stitcher.name))
    )
    return [Maker(*row) for row in db.execute(found)]


def panel_cloths(db: Reading | Writing, garment_ids: Sequence[int]) -> dict[int, list[Cloth]]:
    """The cloths that each garment's panels are cut from."""
    found = (
        select(col(Panel.garment_id), Cloth)
        .join(Cloth, col(Panel.cloth_id) == Cloth.id)
        .where(col(Panel.garment_id).in_(garment_ids))
        .order_by(col(Panel.garment_id), col(Panel.position))
    )
    cloths: dict[int, list[Cloth]] = {number: [] for number in garment_ids}
    for garment_id, cloth in db.execute(found):
        if cloth not in cloths[garment_id]:
            cloths[garment_id].append(cloth)
    return cloths
