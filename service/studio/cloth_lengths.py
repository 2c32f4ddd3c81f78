"""Lengths of cloth: what came, what was cut, what was measured on the shelf, which never holds less than nothing."""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from sqlmodel import select

from service.errors import NotFound, Unreadable
from service.records.db import Writing
from service.records.tables import Cloth, ClothUse, Garment
from service.studio.sign_in import Person

MovedKind = Literal["bought", "cut", "given back"]
MOVED_KINDS: tuple[MovedKind, ...] = ("bought", "cut", "given back")
UM_PER_M = 1_000_000
MOST_ON_HAND_UM = 100_000 * UM_PER_M
TOO_MUCH = "That is more than is on hand. Write down what came in first, or measure what lies on the shelf."


@dataclass(frozen=True, slots=True)
class Moved:
    """A length of cloth that came in, was cut, or was given back to the shelf, and for which garment."""

    kind: MovedKind
    length_um: int
    reason: str = ""
    garment_id: int | None = None


@dataclass(frozen=True, slots=True)
class Measured:
    """What was measured on the shelf, and why the book said something else."""

    on_hand_um: int
    reason: str


def move_cloth(db: Writing, person: Person, cloth_id: int, moved: Moved, at: datetime) -> ClothUse:
    """Write down a length that came or went."""
    cloth = _held(db, cloth_id)
    if moved.garment_id is not None and db.get(Garment, moved.garment_id) is None:
        raise Unreadable({"garment": "Choose a garment from the list."})
    change = -moved.length_um if moved.kind == "cut" else moved.length_um
    if cloth.on_hand_um + change < 0:
        raise Unreadable({"length": TOO_MUCH})
    use = ClothUse(cloth_id=cloth_id, kind=moved.kind, change_um=change, reason=moved.reason, at=at)
    use.garment_id, use.account_id = moved.garment_id, person.id
    return _keep(db, cloth, use)


def correct_length(db: Writing, person: Person, cloth_id: int, measured: Measured, at: datetime) -> ClothUse:
    """Let the book say what was measured on the shelf."""
    cloth = _held(db, cloth_id)
    change = measured.on_hand_um - cloth.on_hand_um
    if not change:
        raise Unreadable({"measured": "That is what the book says already; nothing was changed."})
    use = ClothUse(cloth_id=cloth_id, kind="corrected", change_um=change, reason=measured.reason, at=at)
    use.account_id = person.id
    return _keep(db, cloth, use)


def _held(db: Writing, cloth_id: int) -> Cloth:
    """The cloth, held until this change is kept, so that two cuts at once cannot both find it long enough."""
    cloth = db.exec(
        select(Cloth).where(Cloth.id == cloth_id).with_for_update().execution_options(populate_existing=True)
    ).first()
    if cloth is None:
        raise NotFound("There is no such cloth.")
    return cloth


def _keep(db: Writing, cloth: Cloth, use: ClothUse) -> ClothUse:
    if cloth.on_hand_um + use.change_um > MOST_ON_HAND_UM:
        raise Unreadable({"length": "No shelf holds so much cloth: at most 100 km."})
    cloth.on_hand_um += use.change_um
    db.add(cloth)
    db.add(use)
    db.flush()
    return use
