"""A garment's history: the days on which something was written down, and what was, whole days at a time."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import String, and_, cast, literal, or_, select, union_all
from sqlalchemy.orm import aliased
from sqlmodel import col

from service.records.db import Reading
from service.records.queries.log import Entry, entries_between
from service.records.queries.photos import Shown, shown_between
from service.records.tables import Account, Event, Handover, Panel, Photo, Section, Step, Stitcher, Tally

DAYS = 7
MOST_MOMENTS = 2000
OF_THE_WORK = (
    *("recounted", "steered", "way out taken", "more on the cloth", "given", "offered", "sent back", "found again"),
    *("a needle or pin broke", "needles and pins counted in for somebody else"),
    *("finished", "called finished without its whole list", "delivered", "called off", "taken up again"),
    "photo taken out",
)
OF_THE_CLIENT = ("photo shown to the client", "photo kept for the studio")


@dataclass(frozen=True, slots=True)
class Happened:
    """Something other than a count: what it was, to which part or step, how it stood before and after, and why.

    For hands `before` and `after` are names; nobody is the shelf.
    """

    action: str
    part: str
    operation: str
    step_id: int | None
    before: str
    after: str
    reason: str
    who: str
    at: datetime


@dataclass(frozen=True, slots=True)
class History:
    """Whole days of a garment, newest first; `further` says that there are older ones."""

    days: tuple[date, ...]
    entries: Sequence[Entry]
    happened: Sequence[Happened]
    photos: Sequence[Shown]
    further: bool


def history_of(
    db: Reading, garment_id: int, zone: ZoneInfo, before: date | None = None, *, for_owner: bool = True
) -> History:
    """The newest days before the day `before` on which anything was written down, at most seven of them.

    What was counted belongs to the day on which it was done, in the studio's time zone.
    """
    actions = (*OF_THE_WORK, *OF_THE_CLIENT) if for_owner else OF_THE_WORK
    until = None if before is None else datetime.combine(before, time(), zone)
    moments = _moments(db, garment_id, actions, until)
    days = list(dict.fromkeys(moment.astimezone(zone).date() for moment in moments))
    shown = tuple(days[:DAYS])
    if not shown:
        return History((), (), (), (), further=False)
    since, end = (datetime.combine(day, time(), zone) for day in (shown[-1], shown[0] + timedelta(days=1)))
    return History(
        shown,
        entries_between(db, garment_id, since, end),
        [happened(row) for row in db.execute(_events(garment_id, actions, since, end))],
        shown_between(db, garment_id, since, end),
        further=len(days) > DAYS or len(moments) == MOST_MOMENTS,
    )


def _moments(db: Reading, garment_id: int, actions: Sequence[str], until: datetime | None) -> list[datetime]:
    counted: Any = select(col(Tally.at).label("at")).where(col(Tally.garment_id) == garment_id)
    told = select(col(Event.at)).where(col(Event.garment_id) == garment_id, col(Event.action).in_(actions))
    taken = select(col(Photo.at)).where(col(Photo.garment_id) == garment_id, col(Photo.taken_out_at).is_(None))
    all_of_them = union_all(counted, told, taken).subquery()
    found = select(all_of_them.c.at).order_by(all_of_them.c.at.desc()).limit(MOST_MOMENTS)
    if until is not None:
        found = found.where(all_of_them.c.at < literal(until, Tally.__table__.c.at.type))  # type: ignore[attr-defined]
    return list(db.execute(found).scalars())


def _events(garment_id: int, actions: Sequence[str], since: datetime, until: datetime) -> Any:
    return (
        events_told()
        .where(col(Event.garment_id) == garment_id, col(Event.action).in_(actions))
        .where(col(Event.at) >= since, col(Event.at) < until)
        .order_by(col(Event.at), col(Event.id))
    )


def events_told() -> Any:
    """Events with the names of what they are about and of whoever did it."""
    giver, taker, kind, number = aliased(Stitcher), aliased(Stitcher), col(Event.object_kind), col(Event.object_id)
    of_section = or_(and_(kind == "section", number == Section.id), col(Step.section_id) == Section.id)
    of_panel = or_(and_(kind == "panel", number == Panel.id), and_(kind == "step", col(Step.panel_id) == Panel.id))
    offered_to = and_(kind == "handover", col(Handover.to_id) == taker.id)
    return (
        select(
            Event,
            col(Section.name).label("section"),
            col(Panel.name).label("panel"),
            col(Step.operation),
            col(giver.name).label("giver"),
            col(taker.name).label("taker"),
            col(Stitcher.name).label("stitcher"),
            col(Account.name).label("account"),
        )
        .outerjoin(Step, and_(kind == "step", number == Step.id))
        .outerjoin(Section, of_section)
        .outerjoin(Panel, of_panel)
        .outerjoin(Handover, and_(kind == "handover", number == Handover.id))
        .outerjoin(giver, and_(kind == "panel", cast(col(giver.id), String) == col(Event.before)))
        .outerjoin(taker, or_(and_(kind == "panel", cast(col(taker.id), String) == col(Event.after)), offered_to))
        .outerjoin(Account, col(Event.account_id) == Account.id)
        .outerjoin(Stitcher, col(Account.stitcher_id) == Stitcher.id)
    )


def happened(row: Any) -> Happened:
    """What an event with its names told."""
    event: Event = row.Event
    hands = event.object_kind in {"panel", "handover"}
    return Happened(
        action=event.action,
        part=row.section or row.panel or "",
        operation=row.operation or "",
        step_id=event.object_id if event.object_kind == "step" else None,
        before=(row.giver or "") if hands else event.before,
        after=(row.taker or "") if hands else event.after,
        reason=event.reason,
        who=row.stitcher or row.account or "",
        at=event.at,
    )
