"""What the pages of quotes share: what hours are foreseen by, a quote as it is shown."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated

from fastapi import Depends, Request
from sqlmodel import col, select

from service.records.db import Reading, Writing
from service.records.tables import Client, Commission, Maker, Quote, QuoteGarment, QuoteInstalment, QuoteLine, QuoteWork
from service.records.tables.quotes import MATERIAL_KINDS
from service.studio.alterations import works_in
from service.studio.maker import maker_of
from service.studio.promising import state_on
from service.studio.quote_sums import lines_in, materials_in
from service.studio.quotes import Foresight, quote_with
from service.web.deps import Reads
from service.web.learning import learning_of


def foresight_here(request: Request, db: Reads) -> Foresight:
    """What the log as it is now foresees; learned before the writer's turn is taken."""
    learning = learning_of(request)
    return Foresight(learning.exact(db), learning.record(db).held.kappa)


ForesightHere = Annotated[Foresight, Depends(foresight_here, scope="function")]


@dataclass(frozen=True, slots=True)
class Shown:
    """A quote with all that stands in it, as it is on a day."""

    quote: Quote
    state: str
    commission: Commission
    client: Client
    lines: tuple[QuoteLine, ...]
    garments: tuple[QuoteGarment, ...]
    works: tuple[QuoteWork, ...]
    instalments: tuple[QuoteInstalment, ...]
    maker: Maker

    @property
    def is_draft(self) -> bool:
        """Whether it may still be changed."""
        return self.state == "draft"

    @property
    def is_alteration(self) -> bool:
        """Whether it is the quote of an alteration."""
        return self.quote.kind == "alteration"

    @property
    def name(self) -> str:
        """What it is called."""
        return f"{self.quote.kind.capitalize()}, version {self.quote.version}"

    @property
    def materials_minor(self) -> int:
        """What its materials come to."""
        return materials_in(self.lines)

    @property
    def unpriced(self) -> tuple[QuoteLine, ...]:
        """Materials that nobody has put a price to."""
        return tuple(
            line for line in self.lines if line.kind in MATERIAL_KINDS and not line.amount_minor and not line.left_out
        )


def shown_quote(db: Reading | Writing, quote_id: int, today: date) -> Shown:
    """The quote of that number with all that stands in it."""
    quote = quote_with(db, quote_id)
    commission = db.get_one(Commission, quote.commission_id)
    garments = select(QuoteGarment).where(QuoteGarment.quote_id == quote_id).order_by(col(QuoteGarment.position))
    parts = select(QuoteInstalment).where(QuoteInstalment.quote_id == quote_id).order_by(col(QuoteInstalment.position))
    return Shown(
        quote,
        state_on(quote, today),
        commission,
        db.get_one(Client, commission.client_id),
        tuple(lines_in(db, quote_id)),
        tuple(db.exec(garments)),
        tuple(works_in(db, quote_id)),
        tuple(db.exec(parts)),
        maker_of(db),
    )
