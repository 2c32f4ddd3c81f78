"""What the diary is written from: who works when, which garments are open, what is planned, what was logged."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Row, exists, func, select
from sqlalchemy.orm import aliased
from sqlmodel import col

from service.records.db import Reading, Writing
from service.records.queries.standing import OPEN
from service.records.tables import ExtraMinutes, Garment, Panel, PlannedHands, Stitcher, StitcherAway, Tally
from service.records.tables.people import WEEKDAYS

NEWEST_ENTRIES = 20_000


@dataclass(frozen=True, slots=True)
class Away:
    """Days on which somebody does not work, first and last included."""

    stitcher_id: int
    first: date
    last: date
    note: str


@dataclass(frozen=True, slots=True)
class More:
    """More minutes on a weekday, counted from Monday as 0, from a first to a last day."""

    id: int
    stitcher_id: int
    weekday: int
    minutes: int
    first: date
    last: date


@dataclass(frozen=True, slots=True)
class Worker:
    """A stitcher who is here: minutes a weekday, days away, more minutes for a while."""

    id: int
    name: str
    minutes: tuple[int, ...]
    away: tuple[Away, ...] = ()
    more: tuple[More, ...] = ()


@dataclass(frozen=True, slots=True)
class PanelHeld:
    """A panel and who holds it."""

    id: int
    name: str
    holder_id: int | None


@dataclass(frozen=True, slots=True)
class Piece:
    """An open garment with its panels in order; `holder_id` counts once they are joined."""

    id: int
    name: str
    wanted_on: date
    left_ms: int
    joined: bool
    holder_id: int | None
    panels: tuple[PanelHeld, ...] = ()


@dataclass(frozen=True, slots=True)
class Planned:
    """The newest plan for whose hands a panel, or without one the joined garment, goes into."""

    id: int
    garment_id: int
    panel_id: int | None
    stitcher_id: int
    was_with_id: int | None


def workers(db: Reading | Writing) -> tuple[Worker, ...]:
    """Those who have not left, in the order in which they came."""
    minutes = [getattr(Stitcher, f"minutes_{day}") for day in WEEKDAYS]
    here: Any = select(col(Stitcher.id), col(Stitcher.name), *minutes).where(col(Stitcher.left_on).is_(None))
    away: dict[int, list[Away]] = {}
    days = (col(StitcherAway.stitcher_id), col(StitcherAway.first_day), col(StitcherAway.last_day))
    for row in db.execute(select(*days, col(StitcherAway.note)).order_by(col(StitcherAway.first_day))):
        away.setdefault(row[0], []).append(Away(*row))
    more: dict[int, list[More]] = {}
    span = (col(ExtraMinutes.minutes), col(ExtraMinutes.first_day), col(ExtraMinutes.last_day))
    extra = select(col(ExtraMinutes.id), col(ExtraMinutes.stitcher_id), col(ExtraMinutes.weekday), *span)
    for number, stitcher_id, weekday, *rest in db.execute(extra.order_by(col(ExtraMinutes.id))):
        more.setdefault(stitcher_id, []).append(More(number, stitcher_id, WEEKDAYS.index(weekday), *rest))
    return tuple(
        Worker(number, name, tuple(each), tuple(away.get(number, ())), tuple(more.get(number, ())))
        for number, name, *each in db.execute(here.order_by(col(Stitcher.id)))
    )


def those_gone(db: Reading | Writing) -> dict[int, str]:
    """The names of those who have left, by their numbers."""
    gone = select(col(Stitcher.id), col(Stitcher.name)).where(col(Stitcher.left_on).is_not(None))
    return {number: name for number, name in db.execute(gone) if number is not None}


def open_pieces(db: Reading | Writing, most: int) -> tuple[Piece, ...]:
    """So many open garments, those wanted first before the others."""
    said = (col(Garment.id), col(Garment.name), col(Garment.wanted_on), col(Garment.left_ms))
    hands = (col(Garment.joined_at), col(Garment.holder_id))
    found = select(*said, *hands).where(col(Garment.state).in_(OPEN))
    rows = db.execute(found.order_by(col(Garment.wanted_on), col(Garment.id)).limit(most)).all()
    panels: dict[int, list[PanelHeld]] = {}
    held = select(col(Panel.garment_id), col(Panel.id), col(Panel.name), col(Panel.holder_id)).where(
        col(Panel.garment_id).in_([row[0] for row in rows])
    )
    for garment_id, *panel in db.execute(held.order_by(col(Panel.garment_id), col(Panel.position))):
        panels.setdefault(garment_id, []).append(PanelHeld(*panel))
    return tuple(
        Piece(number, name, wanted_on, left_ms, joined is not None, holder, tuple(panels.get(number, ())))
        for number, name, wanted_on, left_ms, joined, holder in rows
    )


def planned_hands(db: Reading | Writing) -> tuple[Planned, ...]:
    """The newest plan for each part of an open garment, those that ended left out."""
    newest = (
        select(func.max(col(PlannedHands.id)))
        .join(Garment, col(PlannedHands.garment_id) == Garment.id)
        .where(col(Garment.state).in_(OPEN))
        .group_by(col(PlannedHands.garment_id), col(PlannedHands.panel_id))
    )
    part = (col(PlannedHands.id), col(PlannedHands.garment_id), col(PlannedHands.panel_id))
    found = select(*part, col(PlannedHands.stitcher_id), col(PlannedHands.was_with_id)).where(
        col(PlannedHands.id).in_(newest), col(PlannedHands.ended_at).is_(None)
    )
    return tuple(Planned(*row) for row in db.execute(found.order_by(col(PlannedHands.id))))


def logged_since(db: Reading | Writing, since: datetime, whose: Iterable[int]) -> Sequence[Row[Any]]:
    """Whose work was logged since, when, and how many seconds of it; work undone took its time too."""
    counter = aliased(Tally)
    taken_back = exists().where(col(counter.counters_id) == col(Tally.id))
    newest = select(func.max(col(Tally.id)) - NEWEST_ENTRIES).scalar_subquery()
    found = select(col(Tally.stitcher_id), col(Tally.at), col(Tally.seconds)).where(
        col(Tally.id) > func.coalesce(newest, 0),
        col(Tally.at) >= since,
        col(Tally.stitcher_id).in_(list(whose)),
        col(Tally.kind) != "counter",
        col(Tally.seconds) > 0,
        ~taken_back,
    )
    return db.execute(found).all()
