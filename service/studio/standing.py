"""Where a garment stands: what is left in hours, the next step, when it must be begun; its states.

The summary on the garment's own row is written in the same transaction as whatever changed it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Protocol

from sqlmodel import col, select

from service.errors import Conflict, NotFound, Unreadable
from service.reckoning.gates import refusal
from service.reckoning.hours_left import days_of
from service.records.db import Reading, Writing
from service.records.tables import Event, Garment, Studio
from service.studio.lines import Line, lines_of
from service.studio.nothing_open import check_nothing_open, take_offers_back


@dataclass(frozen=True, slots=True)
class Summary:
    """What the garment's own row says of it."""

    planned_ms: int
    left_ms: int
    next_step_id: int | None


def garment_with(db: Reading | Writing, garment_id: int) -> Garment:
    """The garment of that number, or a refusal."""
    garment = db.get(Garment, garment_id)
    if garment is None:
        raise NotFound("There is no such garment.")
    return garment


def locked_garment(db: Writing, garment_id: int) -> Garment:
    """The garment, held so that nobody else changes anything of it before this is done."""
    garment = db.exec(
        select(Garment).where(Garment.id == garment_id).with_for_update().execution_options(populate_existing=True)
    ).first()
    if garment is None:
        raise NotFound("There is no such garment.")
    return garment


def summary_of(lines: Sequence[Line]) -> Summary:
    """Planned and left time, and the first step that may be worked on now."""
    states = [line.state for line in lines]
    may_begin = (
        line.id
        for index, line in enumerate(lines)
        if line.done_tenths < line.quantity_tenths and refusal(states, index, line.least) is None
    )
    return Summary(
        planned_ms=sum(line.planned_ms for line in lines),
        left_ms=sum(line.left_ms for line in lines),
        next_step_id=next(may_begin, None),
    )


def start_by(wanted_on: date, left_ms: int, minutes_a_day: int) -> date:
    """The last day on which what is left can be begun and still be ready, at so many minutes a day.

    >>> start_by(date(2027, 5, 16), 270 * 60_000, 90)
    datetime.date(2027, 5, 13)
    """
    return wanted_on - timedelta(days=days_of(left_ms, minutes_a_day))


def usual_minutes(db: Reading | Writing) -> int:
    """How many minutes a day a piece is usually worked on, as the studio says."""
    return db.exec(select(Studio.usual_minutes_a_day)).one()


def resummarise(db: Writing, garment_id: int) -> Garment:
    """Write the garment's summary afresh."""
    garment = garment_with(db, garment_id)
    db.flush()
    write_summary(db, garment, lines_of(db, garment_id))
    return garment


def write_summary(db: Writing, garment: Garment, lines: Sequence[Line]) -> None:
    """Write on the garment's row what its steps come to."""
    summary = summary_of(lines)
    with db.no_autoflush:
        minutes = usual_minutes(db)
    garment.planned_ms, garment.left_ms = summary.planned_ms, summary.left_ms
    garment.next_step_id = summary.next_step_id
    garment.start_by = start_by(garment.wanted_on, garment.left_ms, minutes)
    db.add(garment)


def resummarise_open(db: Writing) -> None:
    """Write the latest day to begin afresh for every open garment, after the studio's usual day changed."""
    minutes = usual_minutes(db)
    is_open = col(Garment.state).in_(("planned", "in work"))
    for garment in db.exec(
        select(Garment)
        .where(is_open)
        .order_by(col(Garment.id))
        .with_for_update()
        .execution_options(populate_existing=True)
    ):
        garment.start_by = start_by(garment.wanted_on, garment.left_ms, minutes)
        db.add(garment)


def wish_for(db: Writing, garment_id: int, wanted_on: date) -> None:
    """Write down another day on which the garment is wanted."""
    garment = locked_garment(db, garment_id)
    garment.wanted_on = wanted_on
    garment.start_by = start_by(wanted_on, garment.left_ms, usual_minutes(db))
    db.add(garment)


class HasState(Protocol):
    """A garment, or what is known of one."""

    @property
    def state(self) -> str:
        """One of GARMENT_STATES."""


def check_open(garment: HasState) -> None:
    """Refuse to change the work of a garment that is over."""
    if garment.state in {"finished", "called off"}:
        raise Conflict(f"This garment is {garment.state}. Let the owner take it up again before anything is counted.")
    if garment.state == "delivered":
        raise Conflict("This garment is delivered; nothing is counted on it any more.")


def finish(db: Writing, garment_id: int, account_id: int, at: datetime) -> None:
    """Call a garment finished: only when every step is done, and every needle and pin is accounted for."""
    garment = locked_garment(db, garment_id)
    if garment.state not in {"planned", "in work"}:
        raise Conflict(f"This garment is {garment.state} already.")
    if any(line.done_tenths < line.quantity_tenths for line in lines_of(db, garment_id)):
        raise Conflict("There is work left on this garment. Look at what is left, finish it, then come back.")
    check_nothing_open(db, garment_id)
    garment.state, garment.finished_at = "finished", at
    _keep(db, garment, account_id, at, "finished")


def deliver(db: Writing, garment_id: int, account_id: int, at: datetime, by: str = "") -> None:
    """Write down that a finished garment was delivered, and by whom."""
    garment = locked_garment(db, garment_id)
    if garment.state != "finished":
        raise Conflict(f"Only a finished garment is delivered; this one is {garment.state}.")
    check_nothing_open(db, garment_id)
    garment.state, garment.delivered_at = "delivered", at
    _keep(db, garment, account_id, at, "delivered", by)


def call_off(db: Writing, garment_id: int, reason: str, account_id: int, at: datetime) -> None:
    """Call a garment off; its log stays."""
    _want_reason(reason)
    garment = locked_garment(db, garment_id)
    if garment.state not in {"planned", "in work", "finished"}:
        raise Conflict(f"This garment is {garment.state} already.")
    take_offers_back(db, garment_id, account_id, reason, at)
    garment.state, garment.called_off_at = "called off", at
    _keep(db, garment, account_id, at, "called off", reason)


def reopen(db: Writing, garment_id: int, reason: str, account_id: int, at: datetime) -> None:
    """Take a finished or called-off garment up again."""
    _want_reason(reason)
    garment = locked_garment(db, garment_id)
    if garment.state not in {"finished", "called off"}:
        raise Conflict(f"A garment that is {garment.state} cannot be taken up again.")
    garment.state = "in work" if garment.left_ms < garment.planned_ms else "planned"
    garment.finished_at = garment.called_off_at = None
    garment.start_by = start_by(garment.wanted_on, garment.left_ms, usual_minutes(db))
    _keep(db, garment, account_id, at, "taken up again", reason)


def _want_reason(reason: str) -> None:
    if not reason.strip():
        raise Unreadable({"reason": "Say why, in a few words."})


def _keep(db: Writing, garment: Garment, account_id: int, at: datetime, action: str, reason: str = "") -> None:
    assert garment.id is not None
    db.add(garment)
    db.add(
        Event(
            at=at,
            account_id=account_id,
            garment_id=garment.id,
            action=action,
            object_kind="garment",
            object_id=garment.id,
            reason=reason,
        )
    )
