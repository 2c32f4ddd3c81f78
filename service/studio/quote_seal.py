"""The seal of a quote: a digest of all that it says, taken when it is sent and proved ever after."""

import hashlib
import json
from collections.abc import Sequence
from typing import Any

from sqlmodel import SQLModel, col, select

from service.records.db import Reading, Writing
from service.records.tables import Quote, QuoteGarment, QuoteInstalment, QuoteLine, QuoteWork

STANDING = frozenset(
    {"state", "sealed_sha256", "sent_at", "accepted_at", "accepted_name", "accepted_by_id", "taken_back_reason"}
)
"""What becomes of a quote after it is sent, and is no part of what it says."""
SAID_SINCE = frozenset({"wanted_on", "client_name", "title", "occasion", "studio_name", "made_by"})
"""What a quote says since revision 0006: a seal taken before covers all but this."""
PARTS: Sequence[Any] = (QuoteLine, QuoteGarment, QuoteWork, QuoteInstalment)


def is_as_sealed(db: Reading | Writing, quote: Quote) -> bool:
    """Whether a quote still says what its seal covers, which before revision 0006 was all but `SAID_SINCE`."""
    return quote.sealed_sha256 in {seal_of(db, quote), seal_of(db, quote, SAID_SINCE)}


def seal_of(db: Reading | Writing, quote: Quote, without: frozenset[str] = frozenset()) -> str:
    """The digest of a quote's content: the same content always gives the same digest."""
    said = _written(quote, STANDING | without)
    for part in PARTS:
        rows = db.exec(select(part).where(part.quote_id == quote.id).order_by(col(part.id)))
        said[part.__tablename__] = [_written(row, frozenset()) for row in rows]
    return hashlib.sha256(json.dumps(said, sort_keys=True, ensure_ascii=False).encode()).hexdigest()


def _written(row: SQLModel, without: frozenset[str]) -> dict[str, Any]:
    return row.model_dump(mode="json", exclude=set(without))
