"""Needles and pins counted out and in at a sitting: each count once, and what is still out or missing."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.exc import IntegrityError
from sqlmodel import select

from service.errors import Conflict, Unreadable
from service.records.db import Writing
from service.records.queries.needles import needles_of
from service.records.tables import NeedleCount
from service.records.tables.sittings import MOST_NEEDLES, NEEDLE_WAYS
from service.studio.log import KEY_USED, MOST_KEY, countable_step
from service.studio.sign_in import Person

NOT_OUT = "No needles and pins were counted out for this sitting. Count them out first, then in."


@dataclass(frozen=True, slots=True)
class NeedleAsk:
    """Needles and pins as counted: `out` at the first count of a sitting, `in` at the last."""

    key: str
    way: str
    needles: int
    pins: int
    at: datetime | None = None


def count_needles(db: Writing, person: Person, step_id: int, ask: NeedleAsk, at: datetime) -> NeedleCount:
    """Keep one count; the same key counts once. More in than out is refused, fewer in stays open until found."""
    step = countable_step(db, person, step_id)
    _check(ask)
    stored = db.exec(select(NeedleCount).where(NeedleCount.key == ask.key)).first()
    if stored is not None:
        return _seen_again(stored, person, ask)
    if ask.way == "in":
        _check_in(_last_out(db, person.id, step.garment_id), ask)
    assert step.id is not None
    counted = NeedleCount(
        key=ask.key,
        account_id=person.id,
        garment_id=step.garment_id,
        step_id=step.id,
        way=ask.way,
        needles=ask.needles,
        pins=ask.pins,
        at=ask.at or at,
        recorded_at=at,
    )
    db.add(counted)
    try:
        db.flush()
    except IntegrityError as error:
        raise Conflict(KEY_USED) from error
    return counted


def _last_out(db: Writing, account_id: int, garment_id: int) -> NeedleCount | None:
    return db.exec(needles_of(account_id, garment_id).where(NeedleCount.way == "out").limit(1)).first()


def _check(ask: NeedleAsk) -> None:
    faults: dict[str, str] = {}
    if not 1 <= len(ask.key) <= MOST_KEY:
        faults["key"] = f"A key has 1 to {MOST_KEY} characters."
    if ask.way not in NEEDLE_WAYS:
        faults["way"] = f"Say one of {', '.join(NEEDLE_WAYS)}."
    for field in ("needles", "pins"):
        if not 0 <= getattr(ask, field) <= MOST_NEEDLES:
            faults[field] = f"Count from 0 to {MOST_NEEDLES:,}."
    if faults:
        raise Unreadable(faults)


def _check_in(out: NeedleCount | None, ask: NeedleAsk) -> None:
    if out is None:
        raise Conflict(NOT_OUT)
    faults = {
        field: f"{getattr(ask, field)} came in, but only {getattr(out, field)} were written out. Count again; "
        "if too few were written out, count out again first."
        for field in ("needles", "pins")
        if getattr(ask, field) > getattr(out, field)
    }
    if faults:
        raise Unreadable(faults)


def _seen_again(stored: NeedleCount, person: Person, ask: NeedleAsk) -> NeedleCount:
    same = (stored.account_id, stored.way, stored.needles, stored.pins) == (person.id, ask.way, ask.needles, ask.pins)
    if not same:
        raise Conflict(KEY_USED)
    return stored
