"""Where a garment stands: what is left in hours, the next step, when it must be begun; its states.

The summary on the garment's own row is written in the same transaction as whatever changed it. Times are whole
milliseconds: a step's amount in tenths times its milliseconds a unit, divided by ten, half up.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlmodel import col, select

from service.errors import Conflict, NotFound
from service.reckoning.gates import StepState, refusal
from service.reckoning.guess_spread import days_of
from service.records.db import Reading, Writing
from service.records.tables import Event, Garment, Panel, Section, Step, Studio

LEAST_MOVE = 0.1


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


def steps_in_order(db: Reading | Writing, garment_id: int) -> list[Step]:
    """All steps of a garment in the order in which it is worked."""
    return list(
        db.exec(
            select(Step)
            .where(Step.garment_id == garment_id)
            .order_by(col(Step.position))
            .execution_options(populate_existing=True)
        )
    )


def step_states(db: Reading | Writing, steps: Sequence[Step], garment_id: int) -> list[StepState]:
    """The steps as the gates see them."""
    panels = dict(db.exec(select(Panel.id, Panel.key).where(Panel.garment_id == garment_id)).all())
    sections = {
        row[0]: (row[1], row[2])
        for row in db.exec(select(Section.id, Section.key, Section.owner).where(Section.garment_id == garment_id))
    }
    return [_state(step, panels, sections) for step in steps]


def _state(step: Step, panels: dict[int | None, str], sections: dict[int | None, tuple[str, str]]) -> StepState:
    key, owned_by = sections.get(step.section_id, (None, "panel"))
    return StepState(
        operation=step.operation,
        quantity=step.quantity_tenths / 10,
        done=step.done_tenths / 10,
        position=step.position,
        owner="panel" if key is None else ("garment" if owned_by == "garment" else "section"),
        section=key,
        panel=panels.get(step.panel_id),
    )


def milliseconds(amount_tenths: int, unit_ms: int) -> int:
    """The guessed time of so much work, half up.

    >>> milliseconds(15, 20_000)
    30000
    """
    return (amount_tenths * unit_ms + 5) // 10


def step_left_ms(step: Step) -> int:
    """The guessed time of what is left of a step."""
    return milliseconds(step.quantity_tenths - step.done_tenths, step.unit_ms)


def summary_of(steps: Sequence[Step], states: Sequence[StepState]) -> Summary:
    """Planned and left time, and the first step that may be worked on now."""
    return Summary(
        planned_ms=sum(milliseconds(step.quantity_tenths, step.unit_ms) for step in steps),
        left_ms=sum(step_left_ms(step) for step in steps),
        next_step_id=next(
            (
                step.id
                for index, step in enumerate(steps)
                if step.done_tenths < step.quantity_tenths and refusal(states, index, _least(step)) is None
            ),
            None,
        ),
    )


def _least(step: Step) -> float:
    return min(LEAST_MOVE if step.unit == "cm" else 1.0, (step.quantity_tenths - step.done_tenths) / 10)


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
    steps = steps_in_order(db, garment_id)
    summary = summary_of(steps, step_states(db, steps, garment_id))
    garment.planned_ms, garment.left_ms = summary.planned_ms, summary.left_ms
    garment.next_step_id = summary.next_step_id
    garment.start_by = start_by(garment.wanted_on, garment.left_ms, usual_minutes(db))
    db.add(garment)
    return garment


def resummarise_open(db: Writing) -> None:
    """Write the latest day to begin afresh for every open garment, after the studio's usual day changed."""
    minutes = usual_minutes(db)
    for garment in db.exec(select(Garment).where(col(Garment.state).in_(("planned", "in work")))):
        garment.start_by = start_by(garment.wanted_on, garment.left_ms, minutes)
        db.add(garment)


def finish(db: Writing, garment_id: int, account_id: int, at: datetime) -> None:
    """Call a garment finished: only when every step is done."""
    garment = locked_garment(db, garment_id)
    if garment.state not in {"planned", "in work"}:
        raise Conflict(f"This garment is {garment.state} already.")
    if garment.left_ms > 0 or garment.next_step_id is not None:
        raise Conflict("There is work left on this garment. Look at what is left, finish it, then come back.")
    garment.state, garment.finished_at = "finished", at
    _keep(db, garment, account_id, at, "finished")


def deliver(db: Writing, garment_id: int, account_id: int, at: datetime) -> None:
    """Write down that a finished garment was delivered."""
    garment = locked_garment(db, garment_id)
    if garment.state != "finished":
        raise Conflict(f"Only a finished garment is delivered; this one is {garment.state}.")
    garment.state, garment.delivered_at = "delivered", at
    _keep(db, garment, account_id, at, "delivered")


def call_off(db: Writing, garment_id: int, reason: str, account_id: int, at: datetime) -> None:
    """Call a garment off; its log stays."""
    garment = locked_garment(db, garment_id)
    if garment.state not in {"planned", "in work", "finished"}:
        raise Conflict(f"This garment is {garment.state} already.")
    garment.state, garment.called_off_at = "called off", at
    _keep(db, garment, account_id, at, "called off", reason)


def reopen(db: Writing, garment_id: int, reason: str, account_id: int, at: datetime) -> None:
    """Take a finished or called-off garment up again."""
    garment = locked_garment(db, garment_id)
    if garment.state not in {"finished", "called off"}:
        raise Conflict(f"A garment that is {garment.state} cannot be taken up again.")
    garment.state = "in work" if garment.left_ms < garment.planned_ms else "planned"
    garment.finished_at = garment.called_off_at = None
    _keep(db, garment, account_id, at, "taken up again", reason)


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
