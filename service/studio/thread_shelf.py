"""Thread on the shelf goes down by what a garment is said to have taken, and comes back when that is taken back."""

from datetime import datetime

from sqlmodel import col, func, select

from service.records.db import Writing
from service.records.tables import Supply, SupplyUse
from service.studio.charges import USUAL_SKEIN_UM, charges_of
from service.studio.supplies import Moved, move_supply

UM_PER_THOUSANDTH_M = 1000


def settle_with_shelf(db: Writing, garment_id: int, thread: str, used_um: int, account_id: int, at: datetime) -> None:
    """Let the shelf's thread of that name be less by what this garment took of it; no more than there is.

    What the garment was said to have taken before comes back first. Thread counted in pieces has no length, and thread
    that the shelf does not name is not kept there.
    """
    reason = f"Working thread: {thread}"
    wanted = _wanted(db, thread, used_um)
    for supply_id, taken in _taken(db, garment_id, reason).items():
        wanted[supply_id] = wanted.get(supply_id, 0) - taken
    for supply_id, more in sorted(wanted.items()):
        left = db.exec(select(Supply.on_hand_thousandths).where(Supply.id == supply_id).with_for_update()).one()
        change = -min(more, left)
        if change:
            moved = Moved("given back" if change > 0 else "cut", change, reason, garment_id)
            move_supply(db, supply_id, moved, account_id, at)


def _wanted(db: Writing, thread: str, used_um: int) -> dict[int, int]:
    """The supply on the shelf that this thread is, and how many thousandths of its unit so much of it is."""
    charges = charges_of(db)
    skein_um = USUAL_SKEIN_UM if charges is None else charges.skein_um
    here = select(Supply).where(
        Supply.kind == "thread", col(Supply.put_away).is_(False), col(Supply.unit).in_(("m", "skein"))
    )
    for supply in db.exec(here.order_by(col(Supply.id))):
        if supply.id is not None and supply.name.casefold() == thread.casefold():
            by_m = used_um // UM_PER_THOUSANDTH_M
            return {supply.id: by_m if supply.unit == "m" else round(1000 * used_um / skein_um)}
    return {}


def _taken(db: Writing, garment_id: int, reason: str) -> dict[int, int]:
    """What the garment has of the shelf by now for this reason, by supply, in thousandths."""
    sums = (
        select(SupplyUse.supply_id, func.sum(SupplyUse.change_thousandths))
        .where(SupplyUse.garment_id == garment_id, SupplyUse.reason == reason)
        .group_by(col(SupplyUse.supply_id))
    )
    return {supply_id: -int(change) for supply_id, change in db.exec(sums)}
