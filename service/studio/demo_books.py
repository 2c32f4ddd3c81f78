"""What the stitchers of the demo were paid: every few weeks, one sum wrong and taken back, one pay raised."""

from datetime import datetime, timedelta

from service.records.db import Writing
from service.records.tables import Stitcher
from service.studio.demo_records import YEARS_AGO, Stock
from service.studio.payments_to_stitchers import PaymentAsk, pay_stitcher, set_pay, take_back_payment

RAISED_WEEKS_AGO = 30
PAID = {"tilly": (40_000, 30_000, 35_200), "oriel": (38_000, 40_000)}
WEEKS_BETWEEN = 9


def fill_books(db: Writing, stock: Stock, at: datetime) -> None:
    """Write the payments down; the first stitcher's pay was one currency unit less until some weeks ago."""
    owner = stock.workers["edda"].person
    for key, sums in PAID.items():
        hers = stock.workers[key].person.stitcher_id
        assert hers is not None
        for place, minor in enumerate(sums):
            on = at - timedelta(weeks=WEEKS_BETWEEN * (len(sums) - place))
            pay_stitcher(db, PaymentAsk(f"{key} {place}", hers, minor, on.date(), "by transfer"), owner.id, on)
        if key == "tilly":
            _raise(db, hers, owner.id, at)
            on = at - timedelta(weeks=1)
            ask = PaymentAsk(f"{key} wrong", hers, 352_000, on.date(), "a nought too many")
            wrong = pay_stitcher(db, ask, owner.id, on)
            assert wrong.id is not None
            take_back_payment(db, hers, wrong.id, owner.id, on.date(), on)


def _raise(db: Writing, hers: int, owner_id: int, at: datetime) -> None:
    now = db.get_one(Stitcher, hers).pay_minor_per_hour
    if now is not None and now > 100:
        raised = at - timedelta(weeks=RAISED_WEEKS_AGO)
        set_pay(db, hers, now - 100, (at - YEARS_AGO).date(), owner_id, at - YEARS_AGO)
        set_pay(db, hers, now, raised.date(), owner_id, raised)
