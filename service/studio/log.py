"""The log: counts on steps, taken back or unpicked when wrong, each key once, never out of order."""

import hashlib
import json
from dataclasses import asdict, dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from sqlmodel import select

from service.errors import Conflict, NotAllowed, NotFound, Unreadable
from service.reckoning.gates import refusal, refusal_to_take_back
from service.records.db import Writing
from service.records.tables import Cloth, ClothUse, Event, Garment, Panel, Step, Tally
from service.records.tables.log import TALLY_KINDS
from service.studio.hands import settle
from service.studio.sign_in import Person
from service.studio.standing import locked_garment, resummarise, step_states, steps_in_order

MOST_COUNTED = 1_000_000
MOST_MINUTES = 14_400
MOST_KEY = 100
CLAIM_BACK, CLAIM_AHEAD = timedelta(days=3660), timedelta(days=2)


@dataclass(frozen=True, slots=True)
class TallyAsk:
    """One count as it was sent.

    `counted` is in the step's unit, above zero: whole, or to 0.1 for cm. `at` is when the stitcher says it was
    done. `counters_id` names the tally that a counter takes back. `overrule` is the owner's written reason to
    pass a gate; `more_on_cloth` says that the cloth had more threads than planned.
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
    """Count work on a step, or take a count back; refused out of order, in other hands, or past the quantity."""
    step = countable_step(db, person, step_id)
    garment = locked_garment(db, step.garment_id)
    change = _checked(step, ask, at)
    body = _digest(person, step_id, ask)
    if (seen := db.exec(select(Tally).where(Tally.key == ask.key)).first()) is not None:
        return _seen_again(seen, body, step)
    _check_open(garment)
    overruled = _check_gates(db, person, step, ask)
    _move(db, step, change, ask)
    tally = _tally(person, step, ask, at)
    tally.counted_tenths, tally.body_sha256, tally.overruled = abs(change), body, overruled
    db.add(tally)
    db.flush()
    _follow(db, garment, step, tally, at)
    return step_now(step)


def countable_step(db: Writing, person: Person, step_id: int) -> Step:
    """The step as it stands, its garment held for this change; refused when unknown or in other hands."""
    step = db.get(Step, step_id)
    if step is None:
        raise NotFound("There is no such step.")
    garment = locked_garment(db, step.garment_id)
    db.refresh(step)
    if not person.is_owner and not is_in_hands(db, person, garment, step):
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
    counted = Decimal(wrong.counted_tenths) / 10
    ask = TallyAsk(key=key, counted=counted, kind="counter", counters_id=tally_id)
    return add_tally(db, person, wrong.step_id, ask, at)


def finish_step(db: Writing, person: Person, step_id: int, key: str, minutes: Decimal | None, at: datetime) -> StepNow:
    """Count all that is left of a step."""
    step = db.get(Step, step_id)
    if step is None:
        raise NotFound("There is no such step.")
    db.refresh(step)
    left = step.quantity_tenths - step.done_tenths
    if left == 0:
        return step_now(step)
    return add_tally(db, person, step_id, TallyAsk(key=key, counted=Decimal(left) / 10, minutes=minutes), at)


def is_in_hands(db: Writing, person: Person, garment: Garment, step: Step) -> bool:
    """Whether this step's panel, or the joined garment, is in this person's hands."""
    if person.stitcher_id is None:
        return False
    if step.panel_id is not None and garment.joined_at is None:
        panel = db.get_one(Panel, step.panel_id)
        return panel.holder_id == person.stitcher_id
    return garment.holder_id == person.stitcher_id


def _check_open(garment: Garment) -> None:
    if garment.state not in {"planned", "in work"}:
        raise Conflict(f"This garment is {garment.state}; nothing is counted on it any more.")


def _checked(step: Step, ask: TallyAsk, at: datetime) -> int:
    """The change of the step in tenths, after every check of what was typed."""
    faults: dict[str, str] = {}
    if not 1 <= len(ask.key) <= MOST_KEY:
        faults["key"] = f"A key has 1 to {MOST_KEY} characters."
    if ask.kind not in TALLY_KINDS:
        faults["kind"] = f"Say one of {', '.join(TALLY_KINDS)}."
    tenths = ask.counted * 10
    if not 0 < ask.counted <= MOST_COUNTED:
        faults["counted"] = f"Count more than nothing, and at most {MOST_COUNTED:,}."
    elif tenths != tenths.to_integral_value():
        faults["counted"] = "Count to a tenth at the finest."
    elif step.unit != "cm" and ask.counted != ask.counted.to_integral_value():
        faults["counted"] = f"Count whole {step.unit}s."
    if ask.minutes is not None and not 0 <= ask.minutes <= MOST_MINUTES:
        faults["minutes"] = f"Minutes run from 0 to {MOST_MINUTES:,}."
    if ask.at is not None and not at - CLAIM_BACK <= ask.at <= at + CLAIM_AHEAD:
        faults["at"] = "That time is too far from now."
    if faults:
        raise Unreadable(faults)
    return int(tenths) if ask.kind == "work" else -int(tenths)


def _check_gates(db: Writing, person: Person, step: Step, ask: TallyAsk) -> bool:
    """Refuse what is out of order; True when the owner overruled it with a reason."""
    steps = steps_in_order(db, step.garment_id)
    states = step_states(db, steps, step.garment_id)
    index = next(i for i, other in enumerate(steps) if other.id == step.id)
    counted = float(ask.counted)
    if ask.kind == "work":
        sentence = refusal(states, index, counted)
    else:
        sentence = refusal_to_take_back(states, index, counted, "counter" if ask.kind == "counter" else "unpick")
    if sentence is None:
        return False
    if not ask.overrule.strip():
        raise Conflict(sentence)
    if not person.is_owner:
        raise NotAllowed("Only the owner may pass over the order of work, with a written reason.")
    return True


def _move(db: Writing, step: Step, change: int, ask: TallyAsk) -> None:
    after = step.done_tenths + change
    if after < 0:
        raise Conflict(f"Only {step.done_tenths / 10:g} is done, so no more than that can be taken back.")
    if after > step.quantity_tenths:
        if not ask.more_on_cloth:
            left = (step.quantity_tenths - step.done_tenths) / 10
            raise Conflict(
                f"Only {left:g} of {step.quantity_tenths / 10:g} were left to do. Did the cloth have more? "
                "Say so, or correct the number."
            )
        step.quantity_tenths = after
    step.done_tenths = after
    db.add(step)


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


def _seen_again(seen: Tally, body: str, step: Step) -> StepNow:
    if seen.body_sha256 != body:
        raise Conflict("That key was used for another count. Make a new key for each count.")
    return step_now(step)


def _digest(person: Person, step_id: int, ask: TallyAsk) -> str:
    said = {
        **asdict(ask),
        "person": person.id,
        "step": step_id,
        "counted": str(ask.counted.normalize()),
        "minutes": None if ask.minutes is None else str(ask.minutes.normalize()),
        "at": None if ask.at is None else ask.at.astimezone(UTC).isoformat(),
    }
    return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()


def _follow(db: Writing, garment: Garment, step: Step, tally: Tally, at: datetime) -> None:
    """What a count brings with it: cloth cut from the bolt, the garment in work, panels joined, the summary."""
    assert garment.id is not None
    if step.operation == "cut_block" and step.panel_id is not None:
        _use_cloth(db, garment.id, step.panel_id, tally, at)
    if tally.overruled:
        _keep(db, tally, "overruled the order of work", tally.reason, at)
    if garment.state == "planned" and tally.kind == "work":
        garment.state = "in work"
    if step.operation == "cut_out":
        db.flush()
        settle(db, garment, list(db.exec(select(Panel).where(Panel.garment_id == garment.id))), at)
    resummarise(db, garment.id)


def _use_cloth(db: Writing, garment_id: int, panel_id: int, tally: Tally, at: datetime) -> None:
    panel = db.get_one(Panel, panel_id)
    cloth = db.exec(select(Cloth).where(Cloth.id == panel.cloth_id).with_for_update()).one()
    change = -panel.cut_height_um if tally.kind == "work" else panel.cut_height_um
    if cloth.on_hand_um + change < 0:
        raise Conflict(
            f"Only {cloth.on_hand_um / 10_000:g} cm of {cloth.name} are on hand; this block takes "
            f"{panel.cut_height_um / 10_000:g} cm. Write down what came in first."
        )
    cloth.on_hand_um += change
    db.add(cloth)
    db.add(
        ClothUse(
            cloth_id=panel.cloth_id,
            garment_id=garment_id,
            panel_id=panel_id,
            kind="cut" if change < 0 else "given back",
            change_um=change,
            reason="" if change < 0 else "a wrong entry taken back",
            account_id=tally.account_id,
            at=at,
        )
    )


def _keep(db: Writing, tally: Tally, action: str, reason: str, at: datetime) -> None:
    db.add(
        Event(
            at=at,
            account_id=tally.account_id,
            garment_id=tally.garment_id,
            action=action,
            object_kind="step",
            object_id=tally.step_id,
            reason=reason,
        )
    )
