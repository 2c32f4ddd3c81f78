"""What becomes of a quote: sent and sealed, accepted once, taken back, or lapsed by itself."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import col, select

from service.errors import Conflict, Unreadable
from service.records.db import Writing
from service.records.tables import Client, Commission, Quote, QuoteGarment, QuoteLine, QuoteWork, Studio
from service.records.tables.quotes import MATERIAL_KINDS
from service.studio.maker import made_by, maker_of
from service.studio.quote_seal import seal_of
from service.studio.quotes import (
    accepted_of,
    agreed_day,
    an,
    check_promising,
    check_valid,
    garments_quoted,
    keep,
    locked_commission,
    locked_draft,
    quote_with,
)
from service.studio.sign_in import Person
from service.studio.studio_day import studio_day


@dataclass(frozen=True, slots=True)
class Yes:
    """An acceptance as it is given: of which version at which total, and by whom."""

    version: int
    total_minor: int
    name: str


def state_on(quote: Quote, today: date) -> str:
    """A quote's state on a day: what was sent lapses by itself when the day until which it is valid is over."""
    return "lapsed" if quote.state == "sent" and quote.valid_until < today else quote.state


def send(db: Writing, quote_id: int, version: int, by: Person, at: datetime) -> Quote:
    """Seal a draft and call it sent; what was sent before it is taken back. The commission is quoted now."""
    quote = locked_draft(db, quote_id)
    commission = db.get_one(Commission, quote.commission_id)
    if version != quote.version:
        raise Conflict("This draft is another version by now. Look at it again before it is sent.")
    check_promising(commission)
    check_valid(quote.valid_until, studio_day(db, at))
    if quote.wanted_on != commission.wanted_on:
        raise Conflict("The day it is wanted on has changed since. Reckon the draft again first.")
    _check_content(db, quote)
    before = select(Quote).where(
        Quote.commission_id == quote.commission_id, Quote.kind == quote.kind, Quote.state == "sent"
    )
    for older in db.exec(before):
        older.state, older.taken_back_reason = "taken back", f"version {quote.version} was sent"
        db.add(older)
    db.flush()
    seal(db, quote, by, at)
    if commission.state == "asked":
        commission.state = "quoted"
        db.add(commission)
    return quote


def seal(db: Writing, quote: Quote, by: Person, at: datetime) -> None:
    """Call a draft sent, with the digest of all it says: for whom and by whom it is written into it first."""
    commission, studio = db.get_one(Commission, quote.commission_id), db.get_one(Studio, 1)
    quote.client_name = db.get_one(Client, commission.client_id).name
    quote.title, quote.occasion = commission.title, commission.occasion
    quote.studio_name, quote.made_by = studio.name, made_by(studio, maker_of(db))
    db.add(quote)
    db.flush()
    quote.state, quote.sent_at, quote.sealed_sha256 = "sent", at, seal_of(db, quote)
    keep(db, quote, f"{quote.kind} sent", by.id, at)


def accept(db: Writing, quote_id: int, yes: Yes, at: datetime, by: Person | None = None) -> Quote:
    """Accept a sent quote: by the client herself, or by the owner who writes down a yes given by word.

    Version and total are those that were seen; another version sent meanwhile is refused, and so is a second yes.
    """
    quote = locked(db, quote_id, at)
    if quote.state == "accepted":
        raise Conflict(f"This quote was accepted already, by {quote.accepted_name}.")
    if quote.state == "lapsed":
        raise Conflict("This quote has lapsed: the day until which it was valid is over. Ask for the next version.")
    if quote.state != "sent":
        raise Conflict(f"Only a quote that was sent is accepted; this one is {an(quote.state)}.")
    if (yes.version, yes.total_minor) != (quote.version, quote.total_minor):
        raise Conflict("This is not the version or the total that was sent. Look at the quote again, then say yes.")
    if not yes.name.strip():
        raise Unreadable({"name": "Enter the name of whoever says yes."})
    commission = db.get_one(Commission, quote.commission_id)
    check_promising(commission)
    if quote.kind == "quote" and accepted_of(db, quote.commission_id):
        raise Conflict("Another quote of this commission is accepted already.")
    if quote.kind == "alteration" and not accepted_of(db, quote.commission_id):
        raise Conflict("The quote that this alters is not accepted any more. Draw up a new quote instead.")
    quote.state, quote.accepted_at, quote.accepted_name = "accepted", at, yes.name.strip()[:200]
    quote.accepted_by_id = None if by is None else by.id
    commission.state = "agreed" if commission.state in {"asked", "quoted"} else commission.state
    db.add(commission)
    keep(db, quote, f"{quote.kind} accepted", None if by is None else by.id, at, reason=quote.accepted_name)
    return quote


def take_back(db: Writing, quote_id: int, reason: str, by: Person, at: datetime) -> Quote:
    """Take back what was sent or accepted, with a reason; its commission is only asked for again."""
    quote = locked(db, quote_id, at)
    if quote.state not in {"sent", "accepted"}:
        raise Conflict(f"Only a quote that was sent or accepted is taken back; this one is {an(quote.state)}.")
    if not reason.strip():
        raise Unreadable({"reason": "Say why, in a few words."})
    if quote.kind == "quote" and quote.state == "accepted" and _has_accepted_alteration(db, quote.commission_id):
        raise Conflict("An alteration of this quote is accepted. Take that back first.")
    commission = db.get_one(Commission, quote.commission_id)
    moved_it = {"sent": "quoted", "accepted": "agreed"}[quote.state]
    quote.state, quote.taken_back_reason = "taken back", reason.strip()
    if quote.kind == "quote" and commission.state == moved_it:
        commission.state = "asked"
        db.add(commission)
    keep(db, quote, f"{quote.kind} taken back", by.id, at, reason=quote.taken_back_reason)
    return quote


def lapse(db: Writing, commission_id: int, today: date) -> None:
    """Write down what has lapsed by itself."""
    over = select(Quote).where(
        col(Quote.commission_id) == commission_id, col(Quote.state) == "sent", col(Quote.valid_until) < today
    )
    for quote in db.exec(over):
        quote.state = "lapsed"
        db.add(quote)


def locked(db: Writing, quote_id: int, at: datetime) -> Quote:
    """The quote with its commission held, lapsed if its day is over."""
    commission_id = quote_with(db, quote_id).commission_id
    locked_commission(db, commission_id)
    lapse(db, commission_id, studio_day(db, at))
    return db.exec(select(Quote).where(Quote.id == quote_id).execution_options(populate_existing=True)).one()


def _check_content(db: Writing, quote: Quote) -> None:
    if quote.kind == "alteration":
        changes = select(QuoteWork.id).where(QuoteWork.quote_id == quote.id)
        materials = select(QuoteLine.id).where(QuoteLine.quote_id == quote.id, col(QuoteLine.kind).in_(MATERIAL_KINDS))
        is_same_day = quote.wanted_on == agreed_day(db, quote.commission_id)
        if is_same_day and db.exec(changes).first() is None and db.exec(materials).first() is None:
            raise Conflict("This alteration changes nothing yet. Say what is to be worked more or less.")
        return
    now = {garment.id for garment in garments_quoted(db, quote.commission_id)}
    then = set(db.exec(select(QuoteGarment.garment_id).where(QuoteGarment.quote_id == quote.id)))
    if now != then:
        raise Conflict("The garments of this commission have changed since. Reckon the draft again first.")
    if quote.price_minor <= 0:
        raise Conflict("This quote comes to nothing. Nothing is left to do and it lists no material.")


def _has_accepted_alteration(db: Writing, commission_id: int) -> bool:
    found = select(Quote.id).where(
        Quote.commission_id == commission_id, Quote.kind == "alteration", Quote.state == "accepted"
    )
    return db.exec(found).first() is not None
