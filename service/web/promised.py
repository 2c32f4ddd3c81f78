"""What a commission's page tells of its quotes and its money."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from service.reckoning.findings import Finding
from service.records.db import Reading, Writing
from service.records.queries.quotes import OVER, quotes_of
from service.records.tables import Commission, Quote
from service.studio.as_quoted import AsQuoted, as_quoted
from service.studio.money_owed import Owed, owed_for
from service.studio.promising import state_on
from service.studio.quotes import agreed_day
from service.web.payments import due_told
from service.web.words import day


@dataclass(frozen=True, slots=True)
class Promised:
    """The quotes of a commission with their states on a day, what is owed, and how delivered garments came out."""

    quotes: tuple[tuple[Quote, str], ...]
    owed: Owed
    told: str
    is_overdue: bool
    as_quoted: AsQuoted | None
    findings: tuple[Finding, ...]

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
    other_day = tuple(_other_day(db, commission_id, found))
    return Promised(found, owed, due_told(owed, today), late, as_quoted(db, commission_id), other_day)


def _other_day(db: Reading | Writing, commission_id: int, quotes: tuple[tuple[Quote, str], ...]) -> Iterator[Finding]:
    """What was promised for another day than the commission now says."""
    commission = db.get_one(Commission, commission_id)
    if commission.state in OVER:
        return
    now, agreed = commission.wanted_on, agreed_day(db, commission_id)
    if agreed is not None and agreed != now:
        text = (
            f"Accepted for {day(agreed)}; the commission now says {day(now)}. What was accepted stands, its payments "
            "on their days too: quote an alteration for the new day."
        )
        yield Finding("agreed_day", text)
    for quote, state in quotes:
        if state == "sent" and quote.wanted_on is not None and quote.wanted_on != now:
            text = (
                f"What was sent, version {quote.version}, is for {day(quote.wanted_on)}; the commission now says "
                f"{day(now)}. Write the next version."
            )
            yield Finding("sent_day", text)
