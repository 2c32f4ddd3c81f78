"""When somebody last looked at what the others did."""

from datetime import datetime

from sqlmodel import select

from service.records.db import Writing
from service.records.tables import LookedAt


def look(db: Writing, account_id: int, until: datetime, at: datetime) -> None:
    """Keep that everything until then was seen; never a moment still to come, and never an earlier one than before."""
    kept = db.exec(select(LookedAt).where(LookedAt.account_id == account_id)).first()
    seen = min(until, at)
    if kept is None:
        kept = LookedAt(account_id=account_id, at=seen)
    kept.at = max(kept.at, seen)
    db.add(kept)
