"""Alterations: what a client asks for after the yes, priced on the work that is left and added to what is owed."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from fractions import Fraction

from sqlmodel import col, delete, select

from service.errors import Conflict, NotFound, Unreadable
from service.reckoning.asked import Wrong
from service.reckoning.hours import Line, Stretch
from service.reckoning.money import half_up
from service.reckoning.operations import operation_named
from service.reckoning.quoting import ChangedHours, hours_changed, with_more
from service.records.db import Reading, Writing
from service.records.tables import Garment, Panel, Quote, QuoteGarment, QuoteWork
from service.studio.charges import needed_charges
from service.studio.quote_materials import materials_of
from service.studio.quote_sums import ChangeToPrice, as_hours, as_ms, write_sums
from service.studio.quotes import (
    Foresight,
    accepted_of,
    check_promising,
    draft_of,
    garments_quoted,
    keep,
    locked_commission,
    locked_draft,
    new_draft,
    put_materials,
    share_of,
    write_rates,
)
from service.studio.rates import stretches_left
from service.studio.sign_in import Person

ALL_OF_IT = ""
WHOLE_TENTHS = 10
Work = Mapping[int, Sequence[Stretch]]


def draw_alteration_up(db: Writing, commission_id: int, foresight: Foresight, by: Person, at: datetime) -> Quote:
    """Draw up an alteration of what is agreed, or give the draft that there is.

    Garments made since the yes stand in it from the start, with all their work.
    """
    commission = locked_commission(db, commission_id)
    charges = needed_charges(db)
    check_promising(commission)
    if draft := draft_of(db, commission_id, "alteration"):
        return draft
    agreed = accepted_of(db, commission_id)
    if agreed is None:
        raise Conflict("Nothing is agreed yet. Change the quote itself, and send its next version.")
    quote = new_draft(db, commission_id, "alteration", charges, at)
    if quote.currency != agreed.currency:
        raise Conflict(f"This was agreed in {agreed.currency}, and the studio now reckons in {quote.currency}.")
    quote.includes = quote.leaves_out = ""
    assert quote.id is not None
    known = _garments_agreed(db, commission_id)
    for garment in garments_quoted(db, commission_id):
        if garment.id is not None and garment.id not in known:
            db.add(QuoteWork(quote_id=quote.id, garment_id=garment.id, operation=ALL_OF_IT, change_tenths=WHOLE_TENTHS))
    reckon_change(db, quote, foresight, at)
    keep(db, quote, "alteration drawn up", by.id, at)
    return quote


def reckon_alteration_again(db: Writing, quote_id: int, foresight: Foresight, at: datetime) -> Quote:
    """Reckon an alteration's draft afresh, on the work left by now."""
    quote = locked_draft(db, quote_id)
    write_rates(quote, needed_charges(db))
    reckon_change(db, quote, foresight, at)
    return quote


def change_work(
    db: Writing, quote_id: int, garment_id: int, change: tuple[str, int], foresight: Foresight, at: datetime
) -> None:
    """Write down that a garment is to have so many tenths more of an operation (less: below zero; none: struck out)."""
    quote, (operation, tenths) = locked_draft(db, quote_id), change
    if quote.kind != "alteration":
        raise Conflict("Only an alteration changes the work; a quote is for the work as it is planned.")
    if garment_id not in {garment.id for garment in garments_quoted(db, quote.commission_id)}:
        raise NotFound("There is no such garment of this commission to be altered.")
    if operation != ALL_OF_IT:
        operation_named(operation)
    db.exec(
        delete(QuoteWork).where(
            col(QuoteWork.quote_id) == quote_id,
            col(QuoteWork.garment_id) == garment_id,
            col(QuoteWork.operation) == operation,
        )
    )
    if tenths:
        db.add(QuoteWork(quote_id=quote_id, garment_id=garment_id, operation=operation, change_tenths=tenths))
    reckon_change(db, quote, foresight, at)


def reckon_change(db: Writing, quote: Quote, foresight: Foresight, at: datetime) -> None:
    """Write an alteration's hours, its garments, its materials and all that follows from them.

    `likely_ms` and `quoted_ms` of an alteration are the quoted hours of the work left without and with it.
    """
    assert quote.id is not None
    db.flush()
    changes = works_in(db, quote.id)
    garments = garments_quoted(db, quote.commission_id)
    before, after = _without_and_with(db, garments, changes)
    found = _hours(quote, before, after, foresight)
    quote.likely_ms, quote.quoted_ms, quote.worst_ms = as_ms(found.before), as_ms(found.after), as_ms(found.after)
    quote.reckoned_at, quote.mostly_guesses = at, foresight.learned.mostly_guesses
    db.exec(delete(QuoteGarment).where(col(QuoteGarment.quote_id) == quote.id))
    touched = {change.garment_id for change in changes}
    for position, garment in enumerate(garment for garment in garments if garment.id in touched):
        assert garment.id is not None
        own = _hours(quote, _only(before, garment.id), _only(after, garment.id), foresight)
        db.add(share_of(quote.id, position, garment, as_ms(own.after) - as_ms(own.before)))
    new = {change.garment_id for change in changes if change.operation == ALL_OF_IT and change.change_tenths > 0}
    made_of = [garment for garment in garments if garment.id in new]
    put_materials(db, quote, materials_of(db, made_of, needed_charges(db).skein_um) if made_of else [])
    write_again(db, quote)


def write_again(db: Writing, quote: Quote) -> None:
    """Write what a draft's lines come to, after one of them changed."""
    if quote.kind == "quote":
        write_sums(db, quote)
        return
    hours = ChangedHours(as_hours(quote.likely_ms), as_hours(quote.quoted_ms))
    fee = needed_charges(db).alteration_fee_minor
    write_sums(db, quote, ChangeToPrice(hours, fee, unworked(db, quote.commission_id)))


def unworked(db: Reading | Writing, commission_id: int) -> int:
    """What of the prices agreed is not worked yet, by each garment's hours left."""
    agreed = (
        select(QuoteGarment.price_minor, Garment.left_ms, Garment.planned_ms)
        .join(Quote, col(Quote.id) == QuoteGarment.quote_id)
        .join(Garment, col(Garment.id) == QuoteGarment.garment_id)
        .where(Quote.commission_id == commission_id, Quote.state == "accepted", col(Garment.state) != "called off")
    )
    parts = [half_up(Fraction(price * left, planned)) for price, left, planned in db.exec(agreed) if planned]
    return max(0, sum(parts))


def works_in(db: Reading | Writing, quote_id: int) -> list[QuoteWork]:
    """What an alteration changes, in the order it was written."""
    return list(db.exec(select(QuoteWork).where(QuoteWork.quote_id == quote_id).order_by(col(QuoteWork.id))))


def _without_and_with(
    db: Writing, garments: Sequence[Garment], changes: Sequence[QuoteWork]
) -> tuple[dict[int, list[Stretch]], dict[int, list[Stretch]]]:
    ids = [garment.id for garment in garments if garment.id is not None]
    left = stretches_left(db, ids)
    whole = {change.garment_id: change.change_tenths for change in changes if change.operation == ALL_OF_IT}
    before = {number: stretches for number, stretches in left.items() if whole.get(number, 0) <= 0}
    after = {}
    for number, stretches in left.items():
        own = [change for change in changes if change.garment_id == number and change.operation != ALL_OF_IT]
        if whole.get(number, 0) >= 0:
            after[number] = _changed(db, number, stretches, own)
    return before, after


def _changed(db: Writing, garment_id: int, stretches: Sequence[Stretch], changes: Sequence[QuoteWork]) -> list[Stretch]:
    if not changes:
        return list(stretches)
    counts = db.exec(select(Panel.warp_per_cm, Panel.weft_per_cm).where(Panel.garment_id == garment_id)).all()
    mean = sum(warp + weft for warp, weft in counts) / (2 * len(counts))
    lines = [Line(change.operation, change.change_tenths / 10, mean) for change in changes]
    try:
        return with_more(stretches or [Stretch(f"{garment_id} ", (), "", str(garment_id))], lines)
    except Wrong as wrong:
        raise Unreadable({"amount": f"{wrong.field.replace('_', ' ').capitalize()}: {wrong.sentence}."}) from None


def _hours(quote: Quote, before: Work, after: Work, foresight: Foresight) -> ChangedHours:
    return hours_changed(foresight.learned.drawn, before, after, quote.chance_hundredths / 10_000, foresight.kappa)


def _only(work: Work, garment_id: int) -> Work:
    return {garment_id: work[garment_id]} if garment_id in work else {}


def _garments_agreed(db: Reading | Writing, commission_id: int) -> set[int]:
    found = (
        select(QuoteGarment.garment_id)
        .join(Quote, col(Quote.id) == QuoteGarment.quote_id)
        .where(Quote.commission_id == commission_id, Quote.state == "accepted")
    )
    return set(db.exec(found))
