"""What the lines of a quote come to: labour, the price of not knowing, overhead, margin, rounding, tax, instalments."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from sqlmodel import col, delete, select

from service.errors import Unreadable
from service.reckoning.asked import Wrong
from service.reckoning.money import percent_of, shared_out
from service.reckoning.price import (
    Alteration,
    AlterationAsk,
    Price,
    PriceAsk,
    instalments,
    reckon_alteration,
    reckon_price,
)
from service.reckoning.quoting import ChangedHours
from service.records.db import Reading, Writing
from service.records.tables import Commission, Quote, QuoteGarment, QuoteInstalment, QuoteLine
from service.records.tables.quotes import MATERIAL_KINDS
from service.studio.charges import Part, parts_of_price
from service.studio.quote_materials import Figured
from service.studio.studio_day import studio_day

MS_PER_HOUR = 3_600_000
MS_STEP = 36_000  # a hundredth of an hour, so that hours as written times the rate give the line
ONLY_WHERE_ANY = ("fee", "held")
AT_DELIVERY = (Part(10_000, "at delivery"),)
NAMES = {
    "labour": "Labour, as it most likely is",
    "risk": "The price of not knowing",
    "overhead": "Overhead",
    "work": "Work on what is left",
    "margin": "Margin",
    "fee": "Fee for the alteration",
    "held": "Work done that stays payable",
    "rounding": "Rounding up",
}


@dataclass(frozen=True, slots=True)
class ChangeToPrice:
    """An alteration's hours, the fee, and what of the agreed price is not worked yet."""

    hours: ChangedHours
    fee_minor: int
    unworked_minor: int


def as_ms(hours: float) -> int:
    """Hours as kept: whole milliseconds, to a hundredth of an hour."""
    return round(hours * MS_PER_HOUR / MS_STEP) * MS_STEP


def as_hours(ms: int) -> float:
    """Hours of an amount kept in milliseconds.

    >>> as_hours(as_ms(14.015967))
    14.02
    """
    return round(ms / MS_PER_HOUR, 2)


def lines_in(db: Reading | Writing, quote_id: int) -> list[QuoteLine]:
    """The lines of a quote in their order."""
    found = select(QuoteLine).where(QuoteLine.quote_id == quote_id)
    return list(db.exec(found.order_by(col(QuoteLine.position), col(QuoteLine.id))))


def materials_in(lines: Sequence[QuoteLine]) -> int:
    """What the materials come to, those left out left out."""
    return sum(line.amount_minor for line in lines if line.kind in MATERIAL_KINDS and not line.left_out)


def write_sums(db: Writing, quote: Quote, change: ChangeToPrice | None = None) -> None:
    """Write the lines that follow from hours, rates and materials, the shares of the garments, the instalments."""
    assert quote.id is not None
    db.flush()
    kept = [line for line in lines_in(db, quote.id) if line.kind in MATERIAL_KINDS]
    try:
        first, last = _quoted(quote, kept) if change is None else _altered(quote, kept, change)
        _write_total(quote, [*first, *last], kept)
    except Wrong as wrong:
        raise Unreadable({"": f"It cannot be priced: {wrong.field} {wrong.sentence}."}) from None
    db.exec(delete(QuoteLine).where(col(QuoteLine.quote_id) == quote.id, col(QuoteLine.kind).not_in(MATERIAL_KINDS)))
    last = [line for line in last if line.amount_minor or line.kind not in ONLY_WHERE_ANY]
    tax = [Figured("tax", "tax", quote.tax_name, f"{quote.tax_hundredths / 100:g} % of the price", quote.tax_minor)]
    closing = [*last, *(tax if quote.tax_hundredths else [])]
    for position, figured in enumerate(first):
        db.add(line_of(quote.id, position, figured))
    for position, line in enumerate(kept, len(first)):
        line.position = position
        db.add(line)
    for position, figured in enumerate(closing, len(first) + len(kept)):
        db.add(line_of(quote.id, position, figured))
    db.add(quote)
    _share_price(db, quote)
    _write_instalments(db, quote)


def line_of(quote_id: int, position: int, figured: Figured, *, by_hand: bool = False) -> QuoteLine:
    """A figured line as it is kept."""
    return QuoteLine(
        quote_id=quote_id,
        position=position,
        key=figured.key,
        kind=figured.kind,
        words=figured.words[:300],
        source=figured.source,
        amount_minor=figured.amount_minor,
        by_hand=by_hand,
    )


def _quoted(quote: Quote, materials: Sequence[QuoteLine]) -> tuple[list[Figured], list[Figured]]:
    likely, quoted = as_hours(quote.likely_ms), as_hours(quote.quoted_ms)
    price: Price = reckon_price(
        PriceAsk(
            likely,
            quoted,
            quote.hour_rate_minor,
            quote.overhead_minor_per_hour,
            materials_in(materials),
            quote.margin_hundredths / 100,
            quote.price_step_minor,
        )
    )
    certain = f"enough in {quote.chance_hundredths / 100:.0f} of 100 cases"
    first = [
        _own("labour", f"{likely:.2f} h likely (one half)", price.labour),
        _own("risk", f"{quoted - likely:.2f} h more, so that {quoted:.2f} h are {certain}", price.risk),
        _own("overhead", f"on {quoted:.2f} h", price.overhead),
    ]
    last = [
        _own("margin", f"{quote.margin_hundredths / 100:g} % of what stands above", price.margin),
        _own("rounding", "to the studio's step", price.rounding),
    ]
    return first, last


def _altered(
    quote: Quote, materials: Sequence[QuoteLine], change: ChangeToPrice
) -> tuple[list[Figured], list[Figured]]:
    before, after = round(change.hours.before, 2), round(change.hours.after, 2)
    found: Alteration = reckon_alteration(
        AlterationAsk(
            before,
            after,
            quote.hour_rate_minor,
            quote.overhead_minor_per_hour,
            materials_in(materials),
            quote.margin_hundredths / 100,
            change.fee_minor,
            change.unworked_minor,
        )
    )
    told = f"{after:.2f} h left with it, {before:.2f} h without, at the hour's rate and overhead"
    last = [
        _own("margin", f"{quote.margin_hundredths / 100:g} % of what stands above", found.margin),
        _own("fee", "for every alteration", found.fee),
        _own("held", "no more is given back than was not worked yet", found.held),
    ]
    return [_own("work", told, found.work)], last


def _own(kind: str, source: str, amount: int) -> Figured:
    return Figured(kind, kind, NAMES[kind], source, amount)


def _write_total(quote: Quote, own: Sequence[Figured], materials: Sequence[QuoteLine]) -> None:
    quote.price_minor = sum(line.amount_minor for line in own) + materials_in(materials)
    quote.tax_minor = percent_of("tax_percent", quote.tax_hundredths / 100, quote.price_minor)
    quote.total_minor = quote.price_minor + quote.tax_minor


def _share_price(db: Writing, quote: Quote) -> None:
    """Share the price out over the garments by their hours; evenly where nothing is left of any."""
    found = select(QuoteGarment).where(QuoteGarment.quote_id == quote.id).order_by(col(QuoteGarment.position))
    garments = list(db.exec(found))
    if not garments:
        return
    weights = [Fraction(abs(garment.quoted_ms)) for garment in garments]
    shares = shared_out(quote.price_minor, weights if sum(weights) else [Fraction(1)] * len(weights))
    for garment, share in zip(garments, shares, strict=True):
        garment.price_minor = share
        db.add(garment)


def _write_instalments(db: Writing, quote: Quote) -> None:
    """The parts of the total, at acceptance where their day is past already; an alteration is settled at delivery."""
    assert quote.id is not None
    db.exec(delete(QuoteInstalment).where(col(QuoteInstalment.quote_id) == quote.id))
    wanted_on, today = db.get_one(Commission, quote.commission_id).wanted_on, studio_day(db, quote.reckoned_at)
    quote.wanted_on = wanted_on
    parts = parts_of_price(db) if quote.kind == "quote" else AT_DELIVERY
    amounts = instalments(quote.total_minor, [part.percent_hundredths / 100 for part in parts])
    for position, (part, amount) in enumerate(zip(parts, amounts, strict=True)):
        due_on = due_day(part, wanted_on)
        is_past = due_on is not None and due_on <= today
        row = QuoteInstalment(
            quote_id=quote.id,
            position=position,
            percent_hundredths=part.percent_hundredths,
            due="at acceptance" if is_past else part.due,
            amount_minor=amount,
        )
        row.due_on = None if is_past else due_on
        db.add(row)


def due_day(part: Part, wanted_on: date) -> date | None:
    """The day on which a part is due, where it is known beforehand."""
    return None if part.days_before is None else wanted_on - timedelta(days=part.days_before)
