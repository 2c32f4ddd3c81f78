"""What the pages of quotes share: what hours are foreseen by, a quote as it is shown."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated

from fastapi import Depends, Request
from sqlmodel import col, select

from service.records.db import Reading, Writing
from service.records.tables import (
    Client,
    Commission,
    Quote,
    QuoteGarment,
    QuoteInstalment,
    QuoteLine,
    QuoteWork,
    Studio,
)
from service.records.tables.quotes import MATERIAL_KINDS
from service.studio.alterations import works_in
from service.studio.maker import made_by, maker_of
from service.studio.promising import state_on
from service.studio.quote_sums import lines_in, materials_in
from service.studio.quotes import Foresight, agreed_day, quote_with
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
    made_by: str
    day_agreed: date | None

    @property
    def is_draft(self) -> bool:
        """Whether it may still be changed."""
        return self.state == "draft"

    @property
    def wanted_on(self) -> date:
        """The day it is for; of a draft, the day it was reckoned for."""
        return self.quote.wanted_on or self.commission.wanted_on

    @property
    def client_name(self) -> str:
        """Whom it is for, by the name in what was sent; of a draft, by her name now."""
        return self.quote.client_name or self.client.name

    @property
    def title(self) -> str:
        """What the commission is called in it."""
        return self.quote.title or self.commission.title

    @property
    def occasion(self) -> str:
        """What it is made for, as it says."""
        return self.quote.occasion if self.quote.title else self.commission.occasion

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
    commission, studio = db.get_one(Commission, quote.commission_id), db.get_one(Studio, 1)
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
        quote.made_by or made_by(studio, maker_of(db)),
        agreed_day(db, quote.commission_id, quote_id) if quote.kind == "alteration" else None,
    )
