"""What the studio charges: its rates, the parts in which it asks for a price, what its quotes say."""

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass, fields
from datetime import datetime

from sqlmodel import col, delete, select

from service.errors import Conflict, Unreadable
from service.reckoning.money import minor_digits
from service.reckoning.price import quoted_chance
from service.records.db import Reading, Writing
from service.records.tables import Charges, ChargesInstalment, Event

WHOLE = 10_000
MOST_INSTALMENTS = 12
DEARNESS_TENTHS = (10, 15, 20, 40, 90)
NOT_SAID = "Say first what the studio charges: without an hour's rate nothing can be quoted."


@dataclass(frozen=True, slots=True)
class ChargesFacts:
    """What the owner says she charges; money in minor units, percentages in hundredths."""

    hour_rate_minor: int
    overhead_minor_per_hour: int
    margin_hundredths: int
    price_step_minor: int
    tax_name: str
    tax_hundredths: int
    valid_days: int
    dearness_tenths: int
    alteration_fee_minor: int
    skein_um: int
    includes: str
    leaves_out: str


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a price and when it is due."""

    percent_hundredths: int
    due: str
    days_before: int | None = None


USUAL_PARTS = (Part(4000, "at acceptance"), Part(3000, "before the day", 30), Part(3000, "at delivery"))
"""A start to change: a deposit of 30 to 50 % is common practice, no source."""
USUALLY_INCLUDED = (
    "All cutting, drawn thread work, sewing and finishing by hand.\n"
    "Cloth, thread and findings.\n"
    "One fitting, and washing and pressing before it leaves."
)
USUALLY_LEFT_OUT = (
    "Changes asked for after this quote is accepted: they are quoted on their own.\nPostage and insurance on the way."
)


USUAL_SKEIN_UM = 8_000_000
USUAL_STEP = 5


def usual_charges(currency: str, hour_rate_minor: int) -> tuple[ChargesFacts, tuple[Part, ...]]:
    """A start to change: everything but the rate of an hour, which only the owner can say."""
    facts = ChargesFacts(
        hour_rate_minor=hour_rate_minor,
        overhead_minor_per_hour=0,
        margin_hundredths=0,
        price_step_minor=USUAL_STEP * 10 ** minor_digits(currency),
        tax_name="",
        tax_hundredths=0,
        valid_days=30,
        dearness_tenths=20,
        alteration_fee_minor=0,
        skein_um=USUAL_SKEIN_UM,
        includes=USUALLY_INCLUDED,
        leaves_out=USUALLY_LEFT_OUT,
    )
    return facts, USUAL_PARTS


def charges_of(db: Reading | Writing) -> Charges | None:
    """What the studio charges, if it has been said."""
    return db.get(Charges, 1)


def needed_charges(db: Reading | Writing) -> Charges:
    """What the studio charges; a refusal when it has not been said yet."""
    charges = charges_of(db)
    if charges is None:
        raise Conflict(f"{NOT_SAID} It stands in the settings.")
    return charges


def parts_of_price(db: Reading | Writing) -> list[Part]:
    """The parts in which the studio asks for a price, in their order."""
    rows = db.exec(select(ChargesInstalment).order_by(col(ChargesInstalment.position)))
    return [Part(row.percent_hundredths, row.due, row.days_before) for row in rows]


def chance_of(charges: Charges) -> float:
    """With what chance quoted hours are to be enough: how dear a missed hour is against a lost one."""
    return quoted_chance(charges.dearness_tenths, 10)


def write_charges(db: Writing, facts: ChargesFacts, parts: Sequence[Part], account_id: int, at: datetime) -> Charges:
    """Write down what the studio charges from now on; quotes already sent keep what they said."""
    _check_parts(parts)
    if facts.tax_hundredths and not facts.tax_name:
        raise Unreadable({"tax_name": "Say what the tax is called: the line needs a name."})
    charges = charges_of(db)
    before = "" if charges is None else json.dumps({one.name: getattr(charges, one.name) for one in fields(facts)})
    if charges is None:
        charges = Charges(hour_rate_minor=facts.hour_rate_minor)
    for one in fields(facts):
        setattr(charges, one.name, getattr(facts, one.name))
    db.add(charges)
    db.exec(delete(ChargesInstalment))
    for position, part in enumerate(parts):
        row = ChargesInstalment(position=position, percent_hundredths=part.percent_hundredths, due=part.due)
        row.days_before = part.days_before
        db.add(row)
    event = Event(at=at, account_id=account_id, action="charges changed", object_kind="studio", object_id=1)
    event.before, event.after = before, json.dumps(asdict(facts))
    db.add(event)
    db.flush()
    return charges


def _check_parts(parts: Sequence[Part]) -> None:
    total = sum(part.percent_hundredths for part in parts)
    if not parts:
        raise Unreadable({"percent-1": "Enter one part at least: 100 % at delivery, for example."})
    if len(parts) > MOST_INSTALMENTS:
        raise Unreadable({"percent-1": f"Keep to {MOST_INSTALMENTS} parts."})
    if total != WHOLE:
        raise Unreadable({"percent-1": f"The parts must come to 100 % together; these come to {total / 100:g} %."})
    for at, part in enumerate(parts, 1):
        if part.due == "before the day" and not part.days_before:
            raise Unreadable({f"days-{at}": "Say how many days before the day."})
