"""A quote over JSON, for the owner's own scripts: every sum in whole minor units."""

from datetime import date
from typing import Any

from fastapi import APIRouter
from pydantic import BaseModel

from service.records.tables import QuoteInstalment, QuoteLine
from service.web.deps import Id, Owner, OwnerDesk, Reads
from service.web.quoting import shown_quote

REFUSALS: dict[int | str, dict[str, Any]] = {
    401: {"description": "Nobody is signed in."},
    403: {"description": "Only the owner sees prices."},
    404: {"description": "There is no such quote."},
}
router = APIRouter(prefix="/api", tags=["quotes"])


class QuoteLineOut(BaseModel):
    """One line that counts. `kind` is labour, risk, overhead, work, cloth, thread, supply, other, margin, fee, held,
    rounding or tax.
    """

    kind: str
    words: str
    source: str
    amount: int


class QuoteInstalmentOut(BaseModel):
    """One part of the total; `due_on` where the day is known beforehand."""

    due: str
    due_on: date | None
    percent: float
    amount: int


class QuoteOut(BaseModel):
    """One version of a quote, or of an alteration's; money in whole minor units of `currency`."""

    id: int
    commission: int
    kind: str
    version: int
    state: str
    currency: str
    lines: list[QuoteLineOut]
    price: int
    tax: int
    total: int
    instalments: list[QuoteInstalmentOut]
    valid_until: date


@router.get("/quotes/{quote_id}", responses=REFUSALS)
def get_quote(_owner: Owner, desk: OwnerDesk, db: Reads, quote_id: Id) -> QuoteOut:
    """One quote with its lines and instalments; a sent one whose day is over is lapsed."""
    shown = shown_quote(db, quote_id, desk.today)
    quote = shown.quote
    return QuoteOut(
        id=quote_id,
        commission=quote.commission_id,
        kind=quote.kind,
        version=quote.version,
        state=shown.state,
        currency=quote.currency,
        lines=[_line(line) for line in shown.lines if not line.left_out],
        price=quote.price_minor,
        tax=quote.tax_minor,
        total=quote.total_minor,
        instalments=[_instalment(part) for part in shown.instalments],
        valid_until=quote.valid_until,
    )


def _line(line: QuoteLine) -> QuoteLineOut:
    return QuoteLineOut(kind=line.kind, words=line.words, source=line.source, amount=line.amount_minor)


def _instalment(part: QuoteInstalment) -> QuoteInstalmentOut:
    return QuoteInstalmentOut(
        due=part.due, due_on=part.due_on, percent=part.percent_hundredths / 100, amount=part.amount_minor
    )
