"""The studio's own day: dates that bind are told by its clock, not the server's."""

from datetime import date, datetime
from zoneinfo import ZoneInfo

from sqlmodel import select

from service.records.db import Reading, Writing
from service.records.tables import Studio


def studio_day(db: Reading | Writing, at: datetime) -> date:
    """The day it is in the studio at that moment."""
    return at.astimezone(ZoneInfo(db.exec(select(Studio.time_zone)).one())).date()
