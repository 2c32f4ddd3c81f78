"""The log: counts on steps, taken back or unpicked when wrong, each key once, never out of order."""

import hashlib
import json
from dataclasses import asdict, dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from sqlalchemy.exc import IntegrityError
from sqlmodel import select

from service.errors import Conflict, NotAllowed, NotFound, Unreadable
from service.reckoning.gates import StepState, refusal, refusal_to_take_back
from service.records.db import Writing
from service.records.tables import Event, Garment, Panel, Step, Tally
from service.records.tables.log import TALLY_KINDS
from service.studio.cutting import use_cloth
from service.studio.hands import is_in_hands, settle
from service.studio.lines import lines_of
from service.studio.moving import move, place_of
from service.studio.sign_in import Person
from service.studio.standing import check_open, locked_garment, write_summary

MOST_COUNTED = 1_000_000
MOST_MINUTES = 14_400
MOST_KEY = 100
OVERRULED = "overruled the order of work"
MORE_ON_CLOTH = "more on the cloth"
KEY_USED = "That key was used for another count. Make a new key for each count."
CLAIM_BACK, CLAIM_AHEAD = timedelta(days=3660), timedelta(days=2)


@dataclass(frozen=True, slots=True)
class TallyAsk:
    """One count as it was sent.

    `counted` is in the step's unit, above zero: whole, or to 0.1 for cm. `at` is when the stitcher says it was
    done. `counters_id` names the tally that a counter takes back whole; a counter's minutes are taken back too.
    `overrule` is the owner's written reason to pass a gate; `more_on_cloth` says that the cloth had more threads
    than planned.
    """

    key: str
    counted: Decimal
    kind: str = "work"
    minutes: Decimal | None = None
    at: datetime | None = None
    counters_id: int | None = None
    overrule: str = ""
    reason: str = ""
    more_on_cloth: bool = False


@dataclass(frozen=True, slots=True)
class StepNow:
    """A step as it stands after a count."""

    id: int
    operation: str
    unit: str
    quantity: float
    done: float


def add_tally(db: Writing, person: Person, step_id: int, ask: TallyAsk, at: datetime) -> StepNow:
    """Count work on a step, or take a count back; refused out of order, in other hands, or past the quantity.

    Refusals in this order: unknown, not in her hands, cannot be read, out of order, past the quantity.
    """
    return count_on(db, person, countable_step(db, person, step_id), ask, at)


def count_on(db: Writing, person: Person, step: Step, ask: TallyAsk, at: datetime) -> StepNow:
    """The same on a step that `countable_step` gave."""
    change = _checked(db, step, ask, at)
    body = _digest(person, step, ask)
    seen = db.exec(select(Tally.body_sha256).where(Tally.key == ask.key)).first()
    if seen is not None:
        return _seen_again(seen, body, step)
    garment = db.get_one(Garment, step.garment_id)
    check_open(garment)
    _check_not_countered(db, ask)
    lines = lines_of(db, step.garment_id)
    overruled = _check_gates(person, [line.state for line in lines], place_of(lines, step), ask)
    planned_tenths = step.quantity_tenths
    lines = move(db, lines, step, change, more_on_cloth=ask.more_on_cloth, unpicked=ask.kind == "unpick")
    tally = _tally(person, step, ask, at)
    tally.counted_tenths, tally.body_sha256, tally.overruled = abs(change), body, overruled
    _store(db, tally)
    if step.quantity_tenths != planned_tenths:
        _keep(db, tally, MORE_ON_CLOTH, f"{planned_tenths / 10:g}", f"{step.quantity_tenths / 10:g}")
    _follow(db, garment, step, tally)
    write_summary(db, garment, lines)
    return step_now(step)


def countable_step(db: Writing, person: Person, step_id: int) -> Step:
    """The step as it stands, its garment held for this change; refused when unknown or in other hands."""
    garment_id = db.exec(select(Step.garment_id).where(Step.id == step_id)).first()
    if garment_id is None:
        raise NotFound("There is no such step.")
    garment = locked_garment(db, garment_id)
    step = db.get_one(Step, step_id, populate_existing=True)
    if not person.is_owner and not is_in_hands(db, person, garment, step.panel_id):
        raise NotAllowed("This is not in your hands, so it cannot be counted by you. Ask the owner to give it to you.")
    return step


def step_now(step: Step) -> StepNow:
    """A step as it stands."""
    assert step.id is not None
    return StepNow(step.id, step.operation, step.unit, step.quantity_tenths / 10, step.done_tenths / 10)


def take_back(db: Writing, person: Person, tally_id: int, key: str, at: datetime) -> StepNow:
    """Take one wrong entry back, all of it, by a counter that names it."""
    wrong = db.get(Tally, tally_id)
    if wrong is None or wrong.kind != "work":
        raise NotFound("There is no such entry to take back.")
    ask = TallyAsk(
        key=key,
        counted=Decimal(wrong.counted_tenths) / 10,
        kind="counter",
        minutes=None if wrong.seconds is None else Decimal(wrong.seconds) / 60,
        counters_id=tally_id,
    )
    return add_tally(db, person, wrong.step_id, ask, at)


def finish_step(db: Writing, person: Person, step_id: int, key: str, minutes: Decimal | None, at: datetime) -> StepNow:
    """Count all that is left of a step."""
    step = countable_step(db, person, step_id)
    left = step.quantity_tenths - step.done_tenths
    if left == 0:
        return step_now(step)
    return add_tally(db, person, step_id, TallyAsk(key=key, counted=Decimal(left) / 10, minutes=minutes), at)


def _checked(db: Writing, step: Step, ask: TallyAsk, at: datetime) -> int:
    """The change of the step in tenths, after every check of what was typed."""
    faults: dict[str, str] = {}
    if not 1 <= len(ask.key) <= MOST_KEY:
        faults["key"] = f"A key has 1 to {MOST_KEY} characters."
    if ask.kind not in TALLY_KINDS:
        faults["kind"] = f"Say one of {', '.join(TALLY_KINDS)}."
    if (fault := _fault_of_count(step, ask.counted)) is not None:
        faults["counted"] = fault
    if ask.minutes is not None and not 0 <= ask.minutes <= MOST_MINUTES:
        faults["minutes"] = f"Minutes run from 0 to {MOST_MINUTES:,}."
    if ask.at is not None and not at - CLAIM_BACK <= ask.at <= at + CLAIM_AHEAD:
        faults["at"] = "That time is too far from now."
    if (fault := _fault_of_counter(db, step, ask)) is not None:
        faults["counters_id"] = fault
    if faults:
        raise Unreadable(faults)
    tenths = int(ask.counted * 10)
    return tenths if ask.kind == "work" else -tenths


def _fault_of_count(step: Step, counted: Decimal) -> str | None:
    if not counted.is_finite() or not 0 < counted <= MOST_COUNTED:
        return f"Count more than nothing, and at most {MOST_COUNTED:,}."
    if step.unit != "cm" and counted != counted.to_integral_value():
        return f"Count whole {step.unit}s."
    if counted * 10 != (counted * 10).to_integral_value():
        return "Count to a tenth at the finest."
    return None


def _fault_of_counter(db: Writing, step: Step, ask: TallyAsk) -> str | None:
    if ask.counters_id is None:
        return None
    wrong = db.get(Tally, ask.counters_id)
    if wrong is None or wrong.step_id != step.id or wrong.kind != "work" or ask.kind != "counter":
        return "Only a counter names an entry, and only one of work on this step."
    return "Take an entry back whole." if ask.counted * 10 != wrong.counted_tenths else None


def _check_not_countered(db: Writing, ask: TallyAsk) -> None:
    if ask.counters_id is not None:
        before = db.exec(select(Tally.id).where(Tally.counters_id == ask.counters_id)).first()
        if before is not None:
            raise Conflict("That entry was taken back already.")


def _check_gates(person: Person, states: list[StepState], place: int, ask: TallyAsk) -> bool:
    """Refuse what is out of order; True when the owner overruled it with a reason."""
    counted = float(ask.counted)
    if ask.kind == "work":
        sentence = refusal(states, place, counted)
    else:
        sentence = refusal_to_take_back(states, place, counted, "counter" if ask.kind == "counter" else "unpick")
    if sentence is None:
        return False
    if not ask.overrule.strip():
        raise Conflict(sentence)
    if not person.is_owner:
        raise NotAllowed("Only the owner may pass over the order of work, with a written reason.")
    return True


def _tally(person: Person, step: Step, ask: TallyAsk, at: datetime) -> Tally:
    assert step.id is not None
    return Tally(
        key=ask.key,
        step_id=step.id,
        garment_id=step.garment_id,
        account_id=person.id,
        stitcher_id=person.stitcher_id,
        kind=ask.kind,
        counted_tenths=0,
        seconds=None if ask.minutes is None else round(ask.minutes * 60),
        counters_id=ask.counters_id,
        reason=ask.overrule.strip() or ask.reason.strip(),
        body_sha256="",
        at=ask.at or at,
        recorded_at=at,
    )


def _store(db: Writing, tally: Tally) -> None:
    """Add the tally; refused when the same key came in elsewhere at the same instant."""
    db.add(tally)
    try:
        db.flush()
    except IntegrityError as error:
        raise Conflict(KEY_USED) from error


def _seen_again(seen: str, body: str, step: Step) -> StepNow:
    if seen != body:
        raise Conflict(KEY_USED)
    return step_now(step)


def _digest(person: Person, step: Step, ask: TallyAsk) -> str:
    said = {
        **asdict(ask),
        "person": person.id,
        "step": step.id,
        "counted": str(ask.counted.normalize()),
        "minutes": None if ask.minutes is None else str(ask.minutes.normalize()),
        "at": None if ask.at is None else ask.at.astimezone(UTC).isoformat(),
    }
    return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()


def _follow(db: Writing, garment: Garment, step: Step, tally: Tally) -> None:
    """What a count brings with it: cloth cut from the bolt, the garment in work, panels joined."""
    at = tally.recorded_at
    if step.operation == "cut_block" and step.panel_id is not None:
        use_cloth(db, step.panel_id, tally, at)
    if tally.overruled:
        _keep(db, tally, OVERRULED)
    if garment.state == "planned" and tally.kind == "work":
        garment.state = "in work"
    if step.operation == "cut_out":
        db.flush()
        settle(db, garment, list(db.exec(select(Panel).where(Panel.garment_id == garment.id))), at)


def _keep(db: Writing, tally: Tally, action: str, before: str = "", after: str = "") -> None:
    db.add(
        Event(
            at=tally.recorded_at,
            account_id=tally.account_id,
            garment_id=tally.garment_id,
            action=action,
            object_kind="step",
            object_id=tally.step_id,
            reason=tally.reason,
            before=before,
            after=after,
        )
    )
