"""Thread that the demo's finished garments really took, as their owner noted it by the skeins she had left."""

from datetime import datetime, timedelta

from sqlmodel import col, select

from service.reckoning.design_text import design_on_record
from service.reckoning.mirrors import sections_drawn_up
from service.records.db import Writing
from service.records.queries.garments import parts_of
from service.records.tables import Garment
from service.studio.demo_records import Stock
from service.studio.thread_used import tell_used, threads_reckoned

TOOK_PERCENT = (112, 121, 117, 108, 125)
MOST_GARMENTS = 4
UM_PER_DM = 100_000


def fill_thread(db: Writing, stock: Stock, at: datetime) -> None:
    """A line for each thread of the last garments that were finished, to a tenth of a metre."""
    finished = col(Garment.state).in_(("finished", "delivered"))
    garments = db.exec(select(Garment).where(finished).order_by(col(Garment.id)).limit(MOST_GARMENTS)).all()
    owner = stock.workers["edda"].person
    took = 0
    for garment in garments:
        assert garment.id is not None
        drawn = sections_drawn_up(design_on_record(garment.document))
        for reckoned in threads_reckoned(parts_of(db, garment.id), drawn):
            used_um = reckoned.done_um * TOOK_PERCENT[took % len(TOOK_PERCENT)] // 100 // UM_PER_DM * UM_PER_DM
            if used_um >= UM_PER_DM:
                tell_used(db, garment.id, reckoned, used_um, owner.id, at - timedelta(days=10))
                took += 1
