"""The cloth shelf as lists show it, and the history of one cloth."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import and_, func, or_
from sqlmodel import col, select

from service.records.db import Reading, Writing
from service.records.folding import holding
from service.records.tables import Account, Cloth, ClothReading, ClothSwatch, ClothUse, Event, Garment, Panel

PAGE = 50
MOST_READINGS = 1000
MOST_GARMENTS = 200
RECOUNTS = ("counted again", "reading set aside", "reading counts again")


@dataclass(frozen=True, slots=True)
class ReadingRow:
    """One reading and who counted it."""

    reading: ClothReading
    by: str


@dataclass(frozen=True, slots=True)
class UseRow:
    """One length that came or went, for which garment, and who wrote it down."""

    use: ClothUse
    garment: str
    by: str


@dataclass(frozen=True, slots=True)
class RecountRow:
    """One change of what counts: who, when, why, and the counts before and after as kept."""

    event: Event
    by: str


@dataclass(frozen=True, slots=True)
class PlannedOn:
    """A garment not yet finished and the counts one or more of its panels were planned on."""

    garment_id: int
    name: str
    warp_per_cm: float
    weft_per_cm: float


def cloths_by_name(db: Reading, words: str, *, put_away: bool, after: int | None = None) -> list[Cloth]:
    """A page and one more of cloths whose name, fibre or notes hold these words, by name, after the cloth `after`."""
    found = select(Cloth).where(col(Cloth.put_away) == put_away)
    if words.strip():
        found = found.where(holding(words, Cloth.name, Cloth.fibre, Cloth.notes))
    name = func.lower(Cloth.name)
    if after is not None:
        last = select(func.lower(Cloth.name)).where(Cloth.id == after).scalar_subquery()
        found = found.where(or_(name > last, and_(name == last, col(Cloth.id) > after)))
    return list(db.exec(found.order_by(name, col(Cloth.id)).limit(PAGE + 1)))


def readings_that_count(db: Reading | Writing, cloth_ids: Sequence[int]) -> dict[int, list[ClothReading]]:
    """The readings of several cloths that are not set aside, by cloth."""
    rows = db.exec(
        select(ClothReading)
        .where(col(ClothReading.cloth_id).in_(cloth_ids), col(ClothReading.set_aside).is_(False))
        .order_by(col(ClothReading.id))
    )
    found: dict[int, list[ClothReading]] = {cloth_id: [] for cloth_id in cloth_ids}
    for row in rows:
        found[row.cloth_id].append(row)
    return found


def readings_of(db: Reading | Writing, cloth_id: int) -> list[ReadingRow]:
    """All readings of a cloth, those set aside too, the newest first."""
    rows = db.exec(
        select(ClothReading, Account.name)
        .join(Account, col(Account.id) == ClothReading.account_id, isouter=True)
        .where(ClothReading.cloth_id == cloth_id)
        .order_by(col(ClothReading.read_at).desc(), col(ClothReading.id))
        .limit(MOST_READINGS)
    )
    return [ReadingRow(reading, name or "") for reading, name in rows]


def recounts_of(db: Reading, cloth_id: int) -> list[RecountRow]:
    """What was counted again or set aside, the newest first."""
    rows = db.exec(
        select(Event, Account.name)
        .join(Account, col(Account.id) == Event.account_id, isouter=True)
        .where(Event.object_kind == "cloth", Event.object_id == cloth_id, col(Event.action).in_(RECOUNTS))
        .order_by(col(Event.id).desc())
        .limit(PAGE)
    )
    return [RecountRow(event, name or "") for event, name in rows]


def uses_of(db: Reading | Writing, cloth_id: int, before: int | None = None) -> list[UseRow]:
    """A page of what came and went, the newest first, from before the use `before`; one more."""
    found = (
        select(ClothUse, Garment.name, Account.name)
        .join(Garment, col(Garment.id) == ClothUse.garment_id, isouter=True)
        .join(Account, col(Account.id) == ClothUse.account_id, isouter=True)
        .where(ClothUse.cloth_id == cloth_id)
    )
    if before is not None:
        found = found.where(col(ClothUse.id) < before)
    rows = db.exec(found.order_by(col(ClothUse.id).desc()).limit(PAGE + 1))
    return [UseRow(use, garment or "", name or "") for use, garment, name in rows]


def last_swatch(db: Reading | Writing, cloth_id: int) -> list[ClothSwatch]:
    """The lengths of the swatch measured last; none when no swatch was ever washed."""
    last: datetime | None = db.exec(
        select(func.max(ClothSwatch.measured_at)).where(ClothSwatch.cloth_id == cloth_id)
    ).one()
    if last is None:
        return []
    return list(
        db.exec(
            select(ClothSwatch)
            .where(ClothSwatch.cloth_id == cloth_id, ClothSwatch.measured_at == last)
            .order_by(col(ClothSwatch.id))
        )
    )


def planned_on(db: Reading, cloth_id: int, stitcher_id: int | None = None) -> list[PlannedOn]:
    """Garments planned or in work on a cloth, with the counts they were planned on; of one stitcher's, or all."""
    found = (
        select(Garment.id, Garment.name, Panel.warp_per_cm, Panel.weft_per_cm)
        .join(Panel, col(Panel.garment_id) == Garment.id)
        .where(Panel.cloth_id == cloth_id, col(Garment.state).in_(("planned", "in work")))
    )
    if stitcher_id is not None:
        found = found.where(or_(col(Panel.holder_id) == stitcher_id, col(Garment.holder_id) == stitcher_id))
    rows = db.exec(found.distinct().order_by(col(Garment.name), col(Garment.id)).limit(MOST_GARMENTS))
    return [PlannedOn(garment_id, name, warp, weft) for garment_id, name, warp, weft in rows if garment_id is not None]


def garments_to_cut_for(db: Reading | Writing) -> list[tuple[int, str]]:
    """Garments planned or in work, the newest first, for choosing one."""
    rows = db.exec(
        select(Garment.id, Garment.name)
        .where(col(Garment.state).in_(("planned", "in work")))
        .order_by(col(Garment.id).desc())
        .limit(MOST_GARMENTS)
    )
    return [(garment_id, name) for garment_id, name in rows if garment_id is not None]
