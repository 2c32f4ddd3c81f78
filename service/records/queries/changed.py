"""What others did since somebody last looked: counts put together by step and person, and what happened beside them.

Only the newest entries are gone through, by their numbers, so that a long log costs no more than a short one.
"""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, and_, case, func, or_, select
from sqlmodel import col

from service.records.db import Reading
from service.records.queries.history import OF_THE_WORK, Happened, events_told, happened
from service.records.queries.standing import Wanted, is_wanted
from service.records.tables import (
    Account,
    Cloth,
    Commission,
    Event,
    Garment,
    LookedAt,
    Panel,
    Quote,
    Section,
    Step,
    Stitcher,
    Tally,
)
from service.records.unchanged import while_unchanged

GONE_THROUGH = 400
EVERY_STATE = ("planned", "in work", "finished", "delivered", "called off")
OF_A_COMMISSION = ("client answered", "window first opened")
OF_A_QUOTE = ("quote accepted", "alteration accepted")
OF_A_CLOTH = ("counted again", "reading set aside", "reading counts again", "swatch measured", "cloth corrected")


@dataclass(frozen=True, slots=True)
class Looker:
    """Who looks, and since when."""

    account_id: int
    is_owner: bool
    stitcher_id: int
    since: datetime


@dataclass(frozen=True, slots=True)
class Counted:
    """What one person counted on one step: the work less what she took back or unpicked, in tenths."""

    garment_id: int
    garment: str
    who: str
    part: str
    operation: str
    unit: str
    counted_tenths: int
    seconds: int
    at: datetime


@dataclass(frozen=True, slots=True)
class Told:
    """Something that happened: to what record it belongs, its number and name."""

    kind: str
    id: int
    name: str
    what: Happened


@while_unchanged
def last_looked(db: Reading, account_id: int) -> datetime | None:
    """When this account last looked; nothing if it never did."""
    return db.execute(select(col(LookedAt.at)).where(col(LookedAt.account_id) == account_id)).scalar()


@while_unchanged
def counted_by_others(db: Reading, looker: Looker) -> list[Counted]:
    """Counts of others that came in since, the newest first."""
    newest = select(func.max(col(Tally.id))).scalar_subquery() - GONE_THROUGH
    amount = func.sum(case((col(Tally.kind) == "work", col(Tally.counted_tenths)), else_=-col(Tally.counted_tenths)))
    last_at = func.max(col(Tally.recorded_at))
    found = (
        select(
            col(Garment.id),
            col(Garment.name),
            func.coalesce(func.max(Stitcher.name), func.max(Account.name), ""),
            func.coalesce(func.max(Section.name), func.max(Panel.name), ""),
            func.max(Step.operation),
            func.max(Step.unit),
            amount,
            func.coalesce(func.sum(Tally.seconds), 0),
            last_at,
        )
        .select_from(Tally)
        .join(Step, col(Step.id) == Tally.step_id)
        .join(Garment, col(Garment.id) == Tally.garment_id)
        .outerjoin(Section, col(Section.id) == Step.section_id)
        .outerjoin(Panel, col(Panel.id) == Step.panel_id)
        .outerjoin(Stitcher, col(Stitcher.id) == Tally.stitcher_id)
        .outerjoin(Account, col(Account.id) == Tally.account_id)
        .where(col(Tally.id) > newest, col(Tally.recorded_at) > looker.since, _is_of_others(Tally, looker))
        .where(*_is_seen(looker))
        .group_by(col(Garment.id), col(Garment.name), col(Step.id), col(Tally.stitcher_id), col(Tally.account_id))
        .order_by(func.max(Tally.id).desc())
    )
    return [Counted(*row) for row in db.execute(found)]


@while_unchanged
def told_of_others(db: Reading, looker: Looker) -> list[Told]:
    """What else others did since, the newest first; what is of a commission or its quotes is the owner's alone."""
    newest = select(func.max(col(Event.id))).scalar_subquery() - GONE_THROUGH
    recent = (col(Event.id) > newest, col(Event.at) > looker.since, _is_of_others(Event, looker))
    of_work = (
        events_told()
        .add_columns(col(Garment.id).label("garment_id"), col(Garment.name).label("garment"))
        .join(Garment, col(Garment.id) == Event.garment_id)
        .where(*recent, col(Event.action).in_(OF_THE_WORK), *_is_seen(looker))
    )
    found = [Told("garment", row.garment_id, row.garment, happened(row)) for row in db.execute(of_work)]
    found += _of_cloths(db, recent)
    if looker.is_owner:
        found += _of_commissions(db, recent)
    return sorted(found, key=lambda told: told.what.at, reverse=True)


def _of_cloths(db: Reading, recent: tuple[ColumnElement[bool], ...]) -> list[Told]:
    rows = db.execute(
        events_told()
        .add_columns(col(Cloth.id).label("cloth_id"), col(Cloth.name).label("cloth"))
        .join(Cloth, and_(col(Event.object_kind) == "cloth", col(Event.object_id) == Cloth.id))
        .where(*recent, col(Event.action).in_(OF_A_CLOTH))
    )
    return [Told("cloth", row.cloth_id, row.cloth, happened(row)) for row in rows]


def _of_commissions(db: Reading, recent: tuple[ColumnElement[bool], ...]) -> list[Told]:
    kind, number, action = col(Event.object_kind), col(Event.object_id), col(Event.action)
    itself = and_(kind == "commission", action.in_(OF_A_COMMISSION), number == Commission.id)
    rows = db.execute(
        events_told()
        .add_columns(col(Commission.id).label("commission_id"), col(Commission.title).label("title"))
        .outerjoin(Quote, and_(kind == "quote", action.in_(OF_A_QUOTE), number == Quote.id))
        .join(Commission, or_(itself, col(Commission.id) == Quote.commission_id))
        .where(*recent)
    )
    return [Told("commission", row.commission_id, row.title, happened(row)) for row in rows]


def _is_of_others(table: Any, looker: Looker) -> ColumnElement[bool]:
    account = col(table.account_id)
    return or_(account.is_(None), account != looker.account_id)


def _is_seen(looker: Looker) -> list[ColumnElement[bool]]:
    return [] if looker.is_owner else is_wanted(Wanted(EVERY_STATE, seen_by=looker.stitcher_id))
