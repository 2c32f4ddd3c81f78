"""The demo at the table: needles and pins counted out and in, and what each person wishes to be reminded of."""

from datetime import datetime, timedelta

from sqlmodel import col, select

from service.records.db import Writing
from service.records.tables import Panel, Step, Tally
from service.studio.demo_records import Stock
from service.studio.needles import NeedleAsk, count_needles
from service.studio.sign_in import Person
from service.studio.table_wishes import light_was_named, set_rest

SITTING = timedelta(minutes=75)


def fill_table(db: Writing, stock: Stock, at: datetime) -> None:
    """Yesterday's sitting of a stitcher: two needles and a dozen pins, all of them in again."""
    stitcher = stock.workers["tilly"].person
    set_rest(db, stitcher.id, 40)
    light_was_named(db, stitcher.id, at)
    step_id = _step_in_her_hands(db, stitcher)
    if step_id is None:
        return
    out_at = at - timedelta(days=1)
    for way, when in (("out", out_at), ("in", out_at + SITTING)):
        count_needles(db, stitcher, step_id, NeedleAsk(f"demo needles {way}", way, 2, 12), when)


def _step_in_her_hands(db: Writing, stitcher: Person) -> int | None:
    """The step on a panel of hers on which she counted last."""
    found = (
        select(Step.id)
        .join(Panel, col(Step.panel_id) == Panel.id)
        .join(Tally, col(Tally.step_id) == Step.id)
        .where(Panel.holder_id == stitcher.stitcher_id, Tally.account_id == stitcher.id)
        .order_by(col(Tally.id).desc())
        .limit(1)
    )
    return db.exec(found).first()
