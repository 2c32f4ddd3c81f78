"""What must hold of quotes and money and is reckoned afresh: the seal of what was sent, and what is owed."""

from collections.abc import Iterator

from sqlalchemy import text
from sqlmodel import col, select

from service.records.db import Reading
from service.records.queries.quotes import OWED
from service.records.tables import Quote
from service.studio.money_owed import owed_of
from service.studio.quote_seal import is_as_sealed

PROMISED = (
    "a quote that was sent still says what its seal was taken of",
    "what is owed is what was accepted less what was paid",
)


def broken_promises(db: Reading) -> Iterator[tuple[str, int]]:
    """What does not hold, with the number of the quote or of the commission."""
    for quote in db.exec(select(Quote).where(col(Quote.sealed_sha256) != "").order_by(col(Quote.id))):
        if quote.id is not None and not is_as_sealed(db, quote):
            yield PROMISED[0], quote.id
    summed = {number: int(minor) for number, minor in db.connection().execute(text(OWED))}
    if not summed:
        return
    for number, owed in owed_of(db, summed).items():
        if owed.owed_minor != summed[number]:
            yield PROMISED[1], number
