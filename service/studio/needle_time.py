"""How long somebody was at it today, by what she logged: for herself to look up at, and for nobody to compare."""

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

from sqlmodel import select

from service.records.db import Reading, Writing
from service.records.queries.books import Span, seconds_of_newest
from service.records.tables import Studio
from service.records.unchanged import while_unchanged


def needle_seconds_today(db: Reading | Writing, account_id: int, at: datetime) -> int:
    """The seconds this person logged on the studio's day of that moment, what was taken back left out."""
    zone = ZoneInfo(_zone(db))
    day = at.astimezone(zone).date()
    since, before = (datetime.combine(each, time(), zone).astimezone(UTC) for each in (day, day + timedelta(days=1)))
    return seconds_of_newest(db, Span(since, before), account_id)


@while_unchanged
def _zone(db: Reading | Writing) -> str:
    return db.exec(select(Studio.time_zone)).one()
