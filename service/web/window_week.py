"""The week that a client's window names for each piece, and what the owner holds back of it until she has spoken."""

from dataclasses import dataclass
from datetime import date, timedelta

from service.records.db import Reading, Writing
from service.records.tables import Commission, Garment
from service.studio.diary import PieceDays
from service.studio.window import may_read_week
from service.web.deps import Desk
from service.web.foreseeing import foresight_of
from service.web.words import day

OVER = {"finished": "It is finished.", "delivered": "It is delivered.", "called off": "It is not made any more."}
HELD = "The studio will tell you when it is expected."


@dataclass(frozen=True, slots=True)
class WeekTold:
    """What a client reads of one piece, and what is held back from her (nothing: empty); `until` is its week's end."""

    garment: Garment
    read: str
    held: str
    until: date | None


def weeks_for_client(
    desk: Desk, db: Reading | Writing, commission: Commission, garments: list[Garment]
) -> list[WeekTold]:
    """What the client reads of each piece now."""
    plan = foresight_of(desk.request).newest(db, desk.today)
    found = []
    for garment in garments:
        days = plan.days_of(garment.id or 0)
        told = week_told(garment, days)
        if garment.state in OVER or days.sure is None:
            found.append(WeekTold(garment, told, "", None))
        elif may_read_week(db, commission, days.sure):
            found.append(WeekTold(garment, told, "", _sunday(days.sure)))
        else:
            found.append(WeekTold(garment, HELD, told, _sunday(days.sure)))
    return found


def week_told(garment: Garment, days: PieceDays) -> str:
    """When a piece is expected, by the week: no day is promised that nobody can promise."""
    if garment.state in OVER:
        return OVER[garment.state]
    if days.sure is None:
        return "When it will be ready is not known yet."
    return f"It is expected in the week of {day(_sunday(days.sure) - timedelta(days=6))}."


def _sunday(on: date) -> date:
    return on + timedelta(days=6 - on.weekday())
