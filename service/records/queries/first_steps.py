"""How far an empty studio has come towards its first tally, in one question."""

from dataclasses import dataclass
from typing import Any

from sqlalchemy import Select, and_, select
from sqlmodel import col

from service.records.db import Reading
from service.records.tables import (
    Charges,
    Client,
    Cloth,
    ClothReading,
    Commission,
    Design,
    Garment,
    Quote,
    Tally,
)


@dataclass(frozen=True, slots=True)
class FirstThings:
    """The first record of each kind, by its number; nothing where there is none yet."""

    cloth_id: int | None
    counted_cloth_id: int | None
    design_id: int | None
    client_id: int | None
    commission_id: int | None
    garment_id: int | None
    step_id: int | None
    charges_id: int | None
    quote_id: int | None


def is_begun(db: Reading) -> bool:
    """Whether anything was ever counted at the table."""
    return db.execute(select(col(Tally.id)).limit(1)).first() is not None


def first_things(db: Reading) -> FirstThings:
    """The first of each: a cloth, one counted both ways, a design, a client, a commission, a garment, a quote."""
    warp, weft = (
        select(col(ClothReading.id))
        .where(
            col(ClothReading.cloth_id) == Cloth.id,
            col(ClothReading.system) == system,
            col(ClothReading.set_aside).is_(False),
        )
        .correlate(Cloth)
        .exists()
        for system in ("warp", "weft")
    )
    is_open = col(Commission.state).in_(("asked", "quoted", "agreed"))
    made = col(Garment.state).in_(("planned", "in work"))
    sought: dict[str, Select[Any]] = {
        "cloth_id": select(col(Cloth.id)).where(col(Cloth.put_away).is_(False)).order_by(col(Cloth.id)),
        "counted_cloth_id": select(col(Cloth.id)).where(and_(warp, weft)).order_by(col(Cloth.id)),
        "design_id": select(col(Design.id)).order_by(col(Design.id)),
        "client_id": select(col(Client.id)).where(col(Client.put_away).is_(False)).order_by(col(Client.id)),
        "commission_id": select(col(Commission.id)).where(is_open).order_by(col(Commission.id)),
        "garment_id": select(col(Garment.id)).where(made).order_by(col(Garment.id)),
        "step_id": select(col(Garment.next_step_id)).where(made).order_by(col(Garment.id)),
        "charges_id": select(col(Charges.id)),
        "quote_id": select(col(Quote.id)).order_by(col(Quote.id)),
    }
    found = db.execute(select(*(each.limit(1).scalar_subquery().label(name) for name, each in sought.items()))).one()
    return FirstThings(*found)
