"""What a commission's page tells of its quotes and its money."""

from dataclasses import dataclass
from datetime import date

from service.records.db import Reading, Writing
from service.records.queries.quotes import quotes_of
from service.records.tables import Quote
from service.studio.as_quoted import AsQuoted, as_quoted
from service.studio.money_owed import Owed, owed_for
from service.studio.promising import state_on
from service.web.payments import due_told


@dataclass(frozen=True, slots=True)
class Promised:
    """The quotes of a commission with their states on a day, what is owed, and how delivered garments came out."""

    quotes: tuple[tuple[Quote, str], ...]
    owed: Owed
    told: str
    is_overdue: bool
    as_quoted: AsQuoted | None

    @property
    def is_agreed(self) -> bool:
        """Whether a quote is accepted, so that a change is an alteration."""
        return any(state == "accepted" and quote.kind == "quote" for quote, state in self.quotes)

    @property
    def has_draft(self) -> bool:
        """Whether a draft is begun of what would be drawn up next."""
        kind = "alteration" if self.is_agreed else "quote"
        return any(state == "draft" and quote.kind == kind for quote, state in self.quotes)


def promised_for(db: Reading | Writing, commission_id: int, today: date) -> Promised:
    """The quotes and the money of one commission."""
    found = tuple((quote, state_on(quote, today)) for quote in quotes_of(db, commission_id))
    owed = owed_for(db, commission_id)
    late = owed.overdue(today) is not None
    return Promised(found, owed, due_told(owed, today), late, as_quoted(db, commission_id))
