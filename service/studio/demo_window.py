"""The demo's window: a link that was given and opened, what is wanted of the client, an owner's own words."""

from datetime import datetime, timedelta

from sqlmodel import select

from service.records.db import Writing
from service.records.tables import Commission
from service.studio.client_data import keep_for
from service.studio.demo_records import Stock
from service.studio.messages import Words, change_words
from service.studio.window import let_in, make_link, want

TEN_YEARS = 3653


def fill_window(db: Writing, stock: Stock, at: datetime) -> None:
    """Give a client a link that she opened yesterday, ask her for a measurement, keep data for ten years."""
    owner = stock.workers["edda"].person
    commission = db.exec(select(Commission).where(Commission.title == "Christening of Ivy")).first()
    if commission is None or commission.id is None:
        return
    secret = make_link(db, owner, commission.id, ("Ivy's mother", 90), at - timedelta(days=6))
    let_in(db, secret, at - timedelta(days=1))
    asked = "The length of the child lying, from heel to crown, to the half centimetre, and the day you measured."
    want(db, owner, commission.id, ("measurement", asked), at - timedelta(days=2))
    body = "Dear {client},\n\nit is pressed, wrapped and waiting. How to keep it is told here:\n{link}\n\n{studio}"
    change_words(db, "ready", Words("{commission}: ready", body))
    keep_for(db, TEN_YEARS)
