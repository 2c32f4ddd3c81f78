"""More minutes than usual on a weekday for a while."""

from dataclasses import dataclass
from datetime import date, datetime

from service.errors import Conflict, NotFound
from service.records.db import Writing
from service.records.tables import ExtraMinutes, Stitcher
from service.records.tables.people import WEEKDAYS


@dataclass(frozen=True, slots=True)
class MoreAsk:
    """So many minutes more on a weekday, counted from Monday as 0, from a first to a last day."""

    stitcher_id: int
    weekday: int
    minutes: int
    first: date
    last: date


def add_more(db: Writing, ask: MoreAsk, account_id: int, at: datetime) -> ExtraMinutes:
    """Write more minutes down."""
    stitcher = db.get(Stitcher, ask.stitcher_id)
    if stitcher is None:
        raise NotFound("There is no such stitcher.")
    if stitcher.left_on is not None:
        raise Conflict(f"{stitcher.name} has left the studio.")
    more = ExtraMinutes(
        stitcher_id=ask.stitcher_id,
        weekday=WEEKDAYS[ask.weekday],
        minutes=ask.minutes,
        first_day=ask.first,
        last_day=ask.last,
        account_id=account_id,
        at=at,
    )
    db.add(more)
    db.flush()
    return more


def remove_more(db: Writing, more_id: int) -> None:
    """Take more minutes back: that weekday is as usual again."""
    more = db.get(ExtraMinutes, more_id)
    if more is None:
        raise NotFound("There are no such minutes.")
    db.delete(more)
