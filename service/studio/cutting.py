"""A block cut off the bolt uses its cloth; a wrong entry taken back gives it back."""

from datetime import datetime

from sqlmodel import col, select

from service.errors import Conflict
from service.reckoning.shrink import to_cut_um
from service.records.db import Writing
from service.records.tables import Cloth, ClothUse, Panel

UM_PER_CM = 10_000


def use_cloth(db: Writing, panel_id: int, kind: str, account_id: int | None, at: datetime) -> None:
    """Write down what counting a block cut, or taking that count back, does to the cloth on hand.

    It is cut larger by what it shrinks in the wash; taken back, as much comes back as went.
    A block that was spoilt (unpicked with the owner's overrule) is not on the bolt again.
    """
    if kind == "unpick":
        return
    panel = db.get_one(Panel, panel_id)
    cloth = db.exec(
        select(Cloth).where(Cloth.id == panel.cloth_id).with_for_update().execution_options(populate_existing=True)
    ).one()
    change = -to_cut_um(panel.cut_height_um, cloth.shrink_warp_bp) if kind == "work" else _cut_last(db, panel_id)
    if cloth.on_hand_um + change < 0:
        raise Conflict(
            f"Only {cloth.on_hand_um / UM_PER_CM:g} cm of {cloth.name} are on hand; this block takes "
            f"{-change / UM_PER_CM:.4g} cm. If it lies beside a block of this garment that is cut, give that length "
            "back first, on the page of its finishing; else write down what came in."
        )
    cloth.on_hand_um += change
    db.add(cloth)
    db.add(
        ClothUse(
            cloth_id=panel.cloth_id,
            garment_id=panel.garment_id,
            panel_id=panel_id,
            kind="cut" if change < 0 else "given back",
            change_um=change,
            reason="" if change < 0 else "a wrong entry taken back",
            account_id=account_id,
            at=at,
        )
    )


def _cut_last(db: Writing, panel_id: int) -> int:
    """How much the block that was cut last for this panel took."""
    found = select(ClothUse).where(ClothUse.panel_id == panel_id, ClothUse.kind == "cut")
    return -db.exec(found.order_by(col(ClothUse.id).desc()).limit(1)).one().change_um
