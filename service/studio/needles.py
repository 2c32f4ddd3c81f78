"""Needles and pins counted out and in at a sitting: each count once, and what is still out or missing."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.exc import IntegrityError
from sqlmodel import select

from service.errors import Conflict, Unreadable
from service.reckoning.sharps_out import Sharps
from service.records.db import Writing
from service.records.queries.needles import WITH_A_HANDOVER, in_her_name, needles_out
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
        if in_her_name(db, person.id, step.garment_id) is None:
            raise Conflict(NOT_OUT)
        check_no_more_in(needles_out(db, person.id, step.garment_id).whole, Sharps(ask.needles, ask.pins))
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


def check_no_more_in(out: Sharps, came: Sharps) -> None:
    """Refuse more than went out: somebody counted wrongly."""
    faults = {
        field: f"{getattr(came, field)} came in, but only {getattr(out, field)} were written out. Count again; "
        "if too few were written out, count out again first."
        for field in ("needles", "pins")
        if getattr(came, field) > getattr(out, field)
    }
    if faults:
        raise Unreadable(faults)


def _check(ask: NeedleAsk) -> None:
    faults: dict[str, str] = {}
    if not 1 <= len(ask.key) <= MOST_KEY or ask.key.startswith(WITH_A_HANDOVER):
        faults["key"] = f"A key has 1 to {MOST_KEY} characters."
    if ask.way not in NEEDLE_WAYS:
        faults["way"] = f"Say one of {', '.join(NEEDLE_WAYS)}."
    for field in ("needles", "pins"):
        if not 0 <= getattr(ask, field) <= MOST_NEEDLES:
            faults[field] = f"Count from 0 to {MOST_NEEDLES:,}."
    if faults:
        raise Unreadable(faults)


def _seen_again(stored: NeedleCount, person: Person, ask: NeedleAsk) -> NeedleCount:
    same = (stored.account_id, stored.way, stored.needles, stored.pins) == (person.id, ask.way, ask.needles, ask.pins)
    if not same:
        raise Conflict(KEY_USED)
    return stored
