"""What the demo's owner planned ahead: sleeves for other hands, and a longer Saturday for a while."""

from datetime import datetime, timedelta

from sqlmodel import col, select

from service.records.db import Writing
from service.records.tables import Design, Garment, Panel
from service.studio.demo_records import Stock
from service.studio.more_minutes import MoreAsk, add_more
from service.studio.planned_hands import plan_hands

SATURDAY = 5


def fill_diary(db: Writing, stock: Stock, at: datetime) -> None:
    """Plan the sleeves of the shirt on the shelf for Oriel, who works longer on Saturdays for a while."""
    owner, oriel = stock.workers["edda"].person, stock.workers["oriel"].person.stitcher_id
    assert oriel is not None
    sleeves = (
        select(Panel.garment_id, Panel.id)
        .join(Garment, col(Panel.garment_id) == Garment.id)
        .join(Design, col(Garment.design_id) == Design.id)
        .where(Design.key == "boys_shirt", Garment.state == "planned", col(Panel.name).startswith("Sleeve"))
        .order_by(col(Panel.id))
    )
    for garment_id, panel_id in db.exec(sleeves):
        plan_hands(db, (garment_id, panel_id), oriel, owner.id, at)
    first = at.date()
    add_more(db, MoreAsk(oriel, SATURDAY, 30, first, first + timedelta(weeks=6)), owner.id, at)
