"""Quotes for tests: what a studio charges, a garment to quote for, a quote as far as it is wanted."""

from dataclasses import replace
from datetime import timedelta
from functools import cache
from typing import Any

from sqlmodel import col, select

from service.reckoning.draws import draw
from service.reckoning.rates_fit import fit
from service.records.db import Writing
from service.records.queries.rates import LogMark
from service.records.tables import Design, Garment, Quote, QuoteGarment, Supply
from service.studio.charges import ChargesFacts, Part, write_charges
from service.studio.promising import Yes, accept, send
from service.studio.quotes import Foresight, draw_up
from service.studio.rates import Learned
from tests.building import a_garment
from tests.counting import number, person
from tests.serving import OWNER, START

PARTS = (Part(4000, "at acceptance"), Part(3000, "before the day", 30), Part(3000, "at delivery"))
CHARGES = ChargesFacts(
    hour_rate_minor=3200,
    overhead_minor_per_hour=450,
    margin_hundredths=1500,
    price_step_minor=500,
    tax_name="VAT",
    tax_hundredths=2000,
    valid_days=30,
    dearness_tenths=20,
    alteration_fee_minor=1500,
    skein_um=8_000_000,
    includes="All sewing by hand.",
    leaves_out="Postage.",
)
LATER = START + timedelta(hours=3)


def charge(db: Writing, **said: Any) -> None:
    """Let the studio charge what the worked example charges."""
    write_charges(db, replace(CHARGES, **said), PARTS, person(db, OWNER).id, START)


@cache
def foresight() -> Foresight:
    """What a studio without any log foresees."""
    return Foresight(Learned(LogMark(0, 0), draw(fit([]))))


def a_draft(db: Writing, key: str = "handkerchief") -> tuple[Garment, Quote]:
    """A garment and the draft of its quote; the linen costs 20.00 a metre."""
    charge(db)
    garment = _unquoted(db, key) or a_garment(db, key)
    return garment, draw_up(db, garment.commission_id, foresight(), person(db, OWNER), START)


def _unquoted(db: Writing, key: str) -> Garment | None:
    """A garment of that design that waits in the database for a quote, if one was made beforehand."""
    quoted = select(QuoteGarment.garment_id)
    made = select(Garment).join(Design).where(Design.key == key, col(Garment.id).not_in(quoted))
    return db.exec(made).first()


def a_sent_quote(db: Writing, key: str = "handkerchief") -> tuple[Garment, Quote]:
    """A garment and its quote, sent."""
    garment, quote = a_draft(db, key)
    return garment, send(db, number(quote), quote.version, person(db, OWNER), START)


def an_agreed_garment(db: Writing, key: str = "handkerchief") -> tuple[Garment, Quote]:
    """A garment whose quote is accepted."""
    garment, quote = a_sent_quote(db, key)
    return garment, accept(db, number(quote), yes_to(quote), LATER, person(db, OWNER))


def yes_to(quote: Quote, name: str = "Hester Vane") -> Yes:
    """A yes to just this quote."""
    return Yes(quote.version, quote.total_minor, name)


def a_supply(db: Writing, **said: Any) -> Supply:
    """A supply on the shelf."""
    usual = {"name": "Lace cotton No 80", "kind": "thread", "unit": "skein", "price_minor": 210, "created_at": START}
    supply = Supply(**{**usual, **said})
    db.add(supply)
    db.flush()
    return supply
