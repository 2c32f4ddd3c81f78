"""What somebody wishes at the table: to be told to look up after a while; and whether the light was named to her."""

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import select

from service.errors import Unreadable
from service.records.db import Reading, Writing
from service.records.tables import TableWish
from service.records.tables.sittings import LEAST_REST_MINUTES, MOST_REST_MINUTES

USUAL_REST_MINUTES = 50  # common practice, no source


@dataclass(frozen=True, slots=True)
class Wishes:
    """After how many minutes she is told to look up (None: never), and whether the light was named already."""

    rest_minutes: int | None
    light_named: bool


def wishes_of(db: Reading | Writing, account_id: int) -> Wishes:
    """What was set, or what is usual until something is."""
    wish = _wish(db, account_id)
    if wish is None:
        return Wishes(USUAL_REST_MINUTES, light_named=False)
    return Wishes(wish.rest_minutes, wish.light_named_at is not None)


def set_rest(db: Writing, account_id: int, minutes: int | None) -> None:
    """Set after how many minutes she is told to look up; None, never."""
    if minutes is not None and not LEAST_REST_MINUTES <= minutes <= MOST_REST_MINUTES:
        sentence = f"Choose from {LEAST_REST_MINUTES} to {MOST_REST_MINUTES} minutes, or leave it empty for none."
        raise Unreadable({"rest_minutes": sentence})
    wish = _wish(db, account_id) or TableWish(account_id=account_id)
    wish.rest_minutes = minutes
    db.add(wish)
    db.flush()


def light_was_named(db: Writing, account_id: int, at: datetime) -> None:
    """Keep that the light was read of, so that it is not named again."""
    wish = _wish(db, account_id) or TableWish(account_id=account_id, rest_minutes=USUAL_REST_MINUTES)
    wish.light_named_at = wish.light_named_at or at
    db.add(wish)
    db.flush()


def _wish(db: Reading | Writing, account_id: int) -> TableWish | None:
    return db.exec(select(TableWish).where(TableWish.account_id == account_id)).first()
