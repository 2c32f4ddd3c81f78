"""What the owner of the demo guessed otherwise than the studio started from."""

from datetime import datetime, timedelta

from service.records.db import Writing
from service.studio.demo_records import Stock
from service.studio.guesses import set_guesses

SET = {"lace": 50_000, "closure": 1_080_000}


def fill_guesses(db: Writing, stock: Stock, at: datetime) -> None:
    """Write down guesses set three weeks ago, one of them set back a week later."""
    owner = stock.workers["edda"].person
    set_guesses(db, SET, owner.id, at - timedelta(weeks=3))
    set_guesses(db, {"closure": None}, owner.id, at - timedelta(weeks=2))
