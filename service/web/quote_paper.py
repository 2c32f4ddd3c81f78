"""What the client reads of a quote: no rate, no line of the reckoning, no hours unless the owner lets her see them."""

from datetime import date

from fastapi import APIRouter
from fastapi.responses import Response

from service.languages.spoken import Typed, said
from service.papers.paper import SIZES, Ledger, Paper, Part
from service.records.tables import QuoteInstalment, Studio
from service.web.deps import Id, OwnerDesk, Reads
from service.web.money_words import hundredths, money, quoted_hours
from service.web.paper_pages import print_paper
from service.web.quotes import changes_told
from service.web.quoting import Shown, shown_quote
from service.web.words import day, day_at_home

router = APIRouter(include_in_schema=False, prefix="/quotes")
CAUTION = (
    "Local tax and consumer rules apply to this quote, its deposit and the right to withdraw. What is made by hand "
    "varies by a thread; care and the safety of the wearer are told with the piece."
)


@router.get("/{quote_id}/paper")
def show_paper(desk: OwnerDesk, db: Reads, quote_id: Id) -> Response:
    assert desk.studio is not None
    shown = shown_quote(db, quote_id, desk.today)
    paper = quote_paper(shown, desk.studio)
    return desk.page("quotes/paper.html", "commissions", paper=paper, back=f"/quotes/{quote_id}", back_words=shown.name)


@router.get("/{quote_id}/quote.pdf")
def print_quote(desk: OwnerDesk, db: Reads, quote_id: Id, paper: str = SIZES[0]) -> Response:
    assert desk.studio is not None
    return print_paper(quote_paper(shown_quote(db, quote_id, desk.today), desk.studio), paper, f"quote-{quote_id}")


def quote_paper(shown: Shown, studio: Studio, *, with_yes: bool = True) -> Paper:
    """The quote as its client reads it, with her yes or the line for it; her own window has a form for that."""
    quote = shown.quote
    until = f"Valid until {day(quote.valid_until)}."
    at = quote.sent_at or quote.reckoned_at
    told = [f"Written for {shown.client_name} on {day_at_home(at, studio.time_zone)}.", _wanted(shown), until]
    if shown.is_draft:
        told.insert(0, "A draft: nothing is promised yet.")
    parts = [
        Part(text=(quote.note,)) if quote.note else None,
        Part(heading="What changes", points=tuple(changes_told(shown))) if shown.is_alteration else None,
        _garments(shown),
        Part(heading="The price", facts=_sums(shown)),
        Part(heading="When it is paid", ledger=_instalments(shown)),
        _points("It includes", quote.includes),
        _points("It leaves out", quote.leaves_out),
        _signature(shown, studio) if with_yes else None,
    ]
    return Paper(
        title=f"{shown.name}: {shown.title}",
        studio=quote.studio_name or studio.name,
        told=" ".join(told),
        parts=tuple(part for part in parts if part is not None),
        foot=f"{shown.made_by} {said(CAUTION)}",
    )


def due_words(part: QuoteInstalment, wanted_on: date) -> str:
    """When a part is due, as a client reads it."""
    if part.due_on is not None:
        return f"By {day(part.due_on)}"
    return "When you accept" if part.due == "at acceptance" else f"At delivery, wanted on {day(wanted_on)}"


def _wanted(shown: Shown) -> str:
    occasion_name = shown.occasion
    occasion = f" for the {occasion_name}" if occasion_name else ""
    return f"Wanted{occasion} on {day(shown.wanted_on)}."


def _garments(shown: Shown) -> Part | None:
    quote, hours = shown.quote, shown.quote.shows_hours
    if not shown.garments:
        return None
    rows = tuple(
        (Typed(one.name), *((quoted_hours(one.quoted_ms),) if hours else ()), money(one.price_minor, quote.currency))
        for one in shown.garments
    )
    heads = ("Garment", *(("Hours",) if hours else ()), "Price")
    heading = "By garment" if shown.is_alteration else "What is made"
    return Part(heading=heading, ledger=Ledger(heads, rows, (1, 2)))


def _sums(shown: Shown) -> tuple[tuple[str, str], ...]:
    quote = shown.quote
    if not quote.tax_hundredths:
        return (("In all", money(quote.total_minor, quote.currency)),)
    tax = f"{quote.tax_name}, {hundredths(quote.tax_hundredths)} %"
    return (
        ("Price", money(quote.price_minor, quote.currency)),
        (tax, money(quote.tax_minor, quote.currency)),
        ("In all", money(quote.total_minor, quote.currency)),
    )


def _instalments(shown: Shown) -> Ledger:
    wanted_on, currency = shown.wanted_on, shown.quote.currency
    rows = tuple((due_words(part, wanted_on), money(part.amount_minor, currency)) for part in shown.instalments)
    return Ledger(("Due", "Sum"), rows, (1,))


def _points(heading: str, sentences: str) -> Part | None:
    points = tuple(Typed(line.strip()) for line in sentences.splitlines() if line.strip())
    return Part(heading=heading, points=points) if points else None


def _signature(shown: Shown, studio: Studio) -> Part | None:
    quote = shown.quote
    if shown.state == "accepted" and quote.accepted_at is not None:
        return Part(text=(f"Accepted by {quote.accepted_name} on {day_at_home(quote.accepted_at, studio.time_zone)}.",))
    if shown.state == "sent":
        lines = f"{said('Name')}: ______________________    {said('Day')}: ______________"
        return Part(heading="Your yes", text=(lines,))
    return None
