"""Quotes as drafts: drawn up from the work left, reckoned again, and what is said in them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from sqlmodel import col, delete, func, select

from service.errors import Conflict, NotFound, Unreadable
from service.reckoning.quoting import hours_to_quote
from service.records.db import Reading, Writing
from service.records.tables import Charges, Commission, Event, Garment, Quote, QuoteGarment, QuoteLine, Studio
from service.records.tables.quotes import MATERIAL_KINDS
from service.studio.charges import chance_of, needed_charges
from service.studio.quote_materials import Figured, materials_of
from service.studio.quote_sums import as_ms, line_of, lines_in, write_sums
from service.studio.rates import Learned, stretches_left
from service.studio.sign_in import Person
from service.studio.studio_day import studio_day

QUOTED_STATES = ("planned", "in work", "finished")


@dataclass(frozen=True, slots=True)
class Foresight:
    """What hours are foreseen by: what the log has taught, and the widening that the studio's record asks for."""

    learned: Learned
    kappa: float = 1.0


@dataclass(frozen=True, slots=True)
class Said:
    """What the owner says in a draft beside its figures."""

    valid_until: date
    shows_hours: bool
    includes: str
    leaves_out: str
    note: str


def quote_with(db: Reading | Writing, quote_id: int) -> Quote:
    """The quote of that number, or a refusal."""
    quote = db.get(Quote, quote_id)
    if quote is None:
        raise NotFound("There is no such quote.")
    return quote


def draw_up(db: Writing, commission_id: int, foresight: Foresight, by: Person, at: datetime) -> Quote:
    """Draw up the next version of a commission's quote, or give the draft that there is."""
    commission = locked_commission(db, commission_id)
    charges = needed_charges(db)
    check_promising(commission)
    if draft := draft_of(db, commission_id, "quote"):
        return draft
    if accepted_of(db, commission_id):
        raise Conflict("A quote is accepted already. Quote the change as an alteration, or take the quote back first.")
    quote = new_draft(db, commission_id, "quote", charges, at)
    _keep_hand_lines(db, quote)
    reckon(db, quote, foresight, at)
    keep(db, quote, "quote drawn up", by.id, at)
    return quote


def reckon_again(db: Writing, quote_id: int, foresight: Foresight, at: datetime) -> Quote:
    """Reckon a draft afresh: hours left by now, the studio's charges and the shelf's prices by now."""
    quote = locked_draft(db, quote_id)
    write_rates(quote, needed_charges(db))
    reckon(db, quote, foresight, at)
    return quote


def reckon(db: Writing, quote: Quote, foresight: Foresight, at: datetime) -> None:
    """Write the hours, the materials and all that follows from them; lines written by hand stay."""
    assert quote.id is not None
    garments = garments_quoted(db, quote.commission_id)
    if not garments:
        raise Conflict("This commission has no garment to quote for yet. Make one first: its plan is what is quoted.")
    work = stretches_left(db, [garment.id for garment in garments if garment.id is not None])
    hours = hours_to_quote(foresight.learned.drawn, work, quote.chance_hundredths / 10_000, foresight.kappa)
    quote.likely_ms, quote.quoted_ms, quote.worst_ms = (as_ms(one) for one in (hours.likely, hours.quoted, hours.worst))
    quote.mostly_guesses, quote.reckoned_at = foresight.learned.mostly_guesses, at
    quote.currency = db.exec(select(Studio.currency)).one()
    db.exec(delete(QuoteGarment).where(col(QuoteGarment.quote_id) == quote.id))
    for position, garment in enumerate(garments):
        assert garment.id is not None
        db.add(share_of(quote.id, position, garment, as_ms(hours.shares[garment.id])))
    put_materials(db, quote, materials_of(db, garments, needed_charges(db).skein_um))
    write_sums(db, quote)


def share_of(quote_id: int, position: int, garment: Garment, quoted_ms: int) -> QuoteGarment:
    """A garment's share of a quote, its price not reckoned yet."""
    assert garment.id is not None
    return QuoteGarment(
        quote_id=quote_id,
        garment_id=garment.id,
        position=position,
        name=garment.name,
        quoted_ms=quoted_ms,
        price_minor=0,
    )


def put_materials(db: Writing, quote: Quote, figured: Sequence[Figured]) -> None:
    """Put the figured materials in, but leave what the owner wrote, changed or took out."""
    assert quote.id is not None
    db.flush()
    kept = {line.key for line in lines_in(db, quote.id) if line.by_hand or line.left_out}
    own = col(QuoteLine.quote_id) == quote.id, col(QuoteLine.kind).in_(MATERIAL_KINDS)
    db.exec(delete(QuoteLine).where(*own, col(QuoteLine.by_hand).is_(False), col(QuoteLine.left_out).is_(False)))
    for position, one in enumerate(figured):
        if one.key not in kept:
            db.add(line_of(quote.id, position, one))


def say(db: Writing, quote_id: int, said: Said, at: datetime) -> None:
    """Write what a draft says beside its figures."""
    quote = locked_draft(db, quote_id)
    check_valid(said.valid_until, studio_day(db, at))
    quote.valid_until, quote.shows_hours, quote.note = said.valid_until, said.shows_hours, said.note
    quote.includes, quote.leaves_out = said.includes, said.leaves_out
    db.add(quote)


def garments_quoted(db: Reading | Writing, commission_id: int) -> list[Garment]:
    """The garments of a commission that are still to be delivered."""
    found = select(Garment).where(Garment.commission_id == commission_id, col(Garment.state).in_(QUOTED_STATES))
    return list(db.exec(found.order_by(col(Garment.id))))


def draft_of(db: Reading | Writing, commission_id: int, kind: str) -> Quote | None:
    """The commission's draft of that kind."""
    found = select(Quote).where(Quote.commission_id == commission_id, Quote.kind == kind, Quote.state == "draft")
    return db.exec(found).first()


def accepted_of(db: Reading | Writing, commission_id: int) -> Quote | None:
    """The one accepted quote of a commission."""
    found = select(Quote).where(Quote.commission_id == commission_id, Quote.kind == "quote", Quote.state == "accepted")
    return db.exec(found).first()


def agreed_day(db: Reading | Writing, commission_id: int, before_id: int | None = None) -> date | None:
    """The day that was accepted last, by the quote or by an alteration of it, if anything was (before that one)."""
    found = select(Quote).where(Quote.commission_id == commission_id, Quote.state == "accepted")
    if before_id is not None:
        found = found.where(col(Quote.id) < before_id)
    newest = db.exec(found.order_by(col(Quote.accepted_at).desc(), col(Quote.id).desc())).first()
    return None if newest is None else newest.wanted_on


def new_draft(db: Writing, commission_id: int, kind: str, charges: Charges, at: datetime) -> Quote:
    """An empty draft of the next version, with the studio's charges and sentences as they are now."""
    newest = select(func.max(Quote.version)).where(Quote.commission_id == commission_id, Quote.kind == kind)
    sums: dict[str, Any] = dict.fromkeys(
        ("likely_ms", "quoted_ms", "worst_ms", "price_minor", "tax_minor", "total_minor"), 0
    )
    quote = Quote(
        commission_id=commission_id,
        kind=kind,
        version=(db.exec(newest).one() or 0) + 1,
        currency=db.exec(select(Studio.currency)).one(),
        chance_hundredths=5000,
        hour_rate_minor=0,
        overhead_minor_per_hour=0,
        margin_hundredths=0,
        price_step_minor=1,
        valid_until=studio_day(db, at) + timedelta(days=charges.valid_days),
        includes=charges.includes,
        leaves_out=charges.leaves_out,
        reckoned_at=at,
        **sums,
    )
    write_rates(quote, charges)
    db.add(quote)
    db.flush()
    return quote


def write_rates(quote: Quote, charges: Charges) -> None:
    """Take the studio's charges over."""
    quote.hour_rate_minor, quote.overhead_minor_per_hour = charges.hour_rate_minor, charges.overhead_minor_per_hour
    quote.margin_hundredths, quote.price_step_minor = charges.margin_hundredths, charges.price_step_minor
    quote.tax_name, quote.tax_hundredths = charges.tax_name, charges.tax_hundredths
    quote.chance_hundredths = round(chance_of(charges) * 10_000)


def locked_commission(db: Writing, commission_id: int) -> Commission:
    """The commission, held so that nobody else quotes or accepts for it before this is done."""
    found = select(Commission).where(Commission.id == commission_id)
    commission = db.exec(found.with_for_update().execution_options(populate_existing=True)).first()
    if commission is None:
        raise NotFound("There is no such commission.")
    return commission


def locked_draft(db: Writing, quote_id: int) -> Quote:
    """A draft with its commission held; what was sent meanwhile is refused."""
    locked_commission(db, quote_with(db, quote_id).commission_id)
    quote = db.exec(select(Quote).where(Quote.id == quote_id).execution_options(populate_existing=True)).one()
    if quote.state != "draft":
        raise Conflict(f"This quote is {an(quote.state)} and does not change any more. Write the next version.")
    return quote


def check_promising(commission: Commission) -> None:
    """Refuse to promise anything for a commission that is over."""
    if commission.state in {"closed", "called off"}:
        raise Conflict(f"This commission is {commission.state}; nothing is quoted for it any more.")


def keep(db: Writing, quote: Quote, action: str, account_id: int | None, at: datetime, *, reason: str = "") -> None:
    """Keep the quote and what was done to it."""
    assert quote.id is not None
    db.add(quote)
    event = Event(at=at, account_id=account_id, action=action, object_kind="quote", object_id=quote.id, reason=reason)
    event.after = f"{quote.total_minor} {quote.currency}"
    db.add(event)
    db.flush()


def an(state: str) -> str:
    """A state as a sentence takes it."""
    return f"a {state}" if state == "draft" else state


def check_valid(valid_until: date, today: date) -> None:
    """Refuse a day until which nothing could be valid any more."""
    if valid_until < today:
        raise Unreadable({"valid_until": "The day until which it is valid is over already. Choose today or later."})


def _keep_hand_lines(db: Writing, quote: Quote) -> None:
    """Take over from the version before what the owner wrote by hand or left out."""
    assert quote.id is not None
    before = db.exec(
        select(Quote)
        .where(Quote.commission_id == quote.commission_id, Quote.kind == "quote", Quote.version < quote.version)
        .order_by(col(Quote.version).desc())
    ).first()
    if before is None or before.id is None:
        return
    quote.includes, quote.leaves_out, quote.shows_hours = before.includes, before.leaves_out, before.shows_hours
    for line in lines_in(db, before.id):
        if line.kind in MATERIAL_KINDS and (line.by_hand or line.left_out):
            copied = QuoteLine(**line.model_dump(exclude={"id", "quote_id"}), quote_id=quote.id)
            db.add(copied)
