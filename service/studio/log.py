"""The log: counts on steps, taken back or unpicked when wrong, each key once, never out of order."""

import hashlib
import json
from dataclasses import dataclass, fields
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

from sqlalchemy import Connection, bindparam, insert, update
from sqlalchemy import select as columns
from sqlalchemy.exc import IntegrityError
from sqlmodel import SQLModel, select

from service.errors import Conflict, NotAllowed, NotFound, Unreadable
from service.reckoning.gates import StepState, refusal, refusal_to_take_back
from service.records.db import Writing
from service.records.tables import Event, Garment, Panel, Step, Tally
from service.records.tables.log import TALLY_KINDS
from service.studio.cutting import use_cloth
from service.studio.hands import settle
from service.studio.held import Held, held_step
from service.studio.lines import Line
from service.studio.moving import Amounts, as_moved, moved
from service.studio.sign_in import Person
from service.studio.standing import check_open, start_by, summary_of

MOST_COUNTED = 1_000_000
MOST_MINUTES = 14_400
MOST_KEY = 100
OVERRULED = "overruled the order of work"
MORE_ON_CLOTH = "more on the cloth"
KEY_USED = "That key was used for another count. Make a new key for each count."
CLAIM_BACK, CLAIM_AHEAD = timedelta(days=3660), timedelta(days=2)
# Prepared once: every count runs them.
_TABLES = SQLModel.metadata.tables
_INSERT = insert(_TABLES["tally"])
_MOVE = (
    update(_TABLES["step"])
    .where(_TABLES["step"].c.id == bindparam("step_id"))
    .values(quantity_tenths=bindparam("quantity"), done_tenths=bindparam("done"))
)
_SUMMARY = ("planned_ms", "left_ms", "next_step_id", "start_by")
_SUMMARISE = (
    update(_TABLES["garment"])
    .where(_TABLES["garment"].c.id == bindparam("garment"))
    .values({name: bindparam(f"new_{name}") for name in _SUMMARY})
)
_ENTRY = columns(*(_TABLES["tally"].c[name] for name in ("step_id", "kind", "counted_tenths"))).where(
    _TABLES["tally"].c.id == bindparam("entry")
)
_COUNTER_OF = columns(_TABLES["tally"].c.id).where(_TABLES["tally"].c.counters_id == bindparam("entry"))
LEADS_ON = frozenset({"cut_block", "cut_out"})
"""Operations that more follows from than sums."""


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


@dataclass(frozen=True, slots=True)
class Count:
    """A count that nothing speaks against, before it is written: its row, what it moves, its garment until then.

    `is_seen` says that its key counted already: nothing is to be written, and `now` is how the step stands.
    """

    held: Held
    row: dict[str, Any]
    amounts: Amounts
    now: StepNow
    is_seen: bool = False

    @property
    def more(self) -> tuple[int, int] | None:
        """The quantity before and now, in tenths, when the cloth had more."""
        before, now = self.held.line.quantity_tenths, self.amounts[self.held.place][0]
        return None if before == now else (before, now)

    @property
    def is_plain(self) -> bool:
        """Whether it changes nothing but sums: no event, no cloth, nobody's hands, no state."""
        is_usual = self.held.state == "in work" and self.held.line.state.operation not in LEADS_ON
        return is_usual and not self.row["overruled"] and self.more is None


@dataclass(frozen=True, slots=True)
class Added:
    """A count as it was written: the number of its entry, and the step as it stands."""

    tally_id: int
    now: StepNow


def add_tally(db: Writing, person: Person, step_id: int, ask: TallyAsk, at: datetime) -> StepNow:
    """Count work on a step, or take a count back; refused out of order, in other hands, or past the quantity.

    Refusals in this order: unknown, not in her hands, cannot be read, out of order, past the quantity. Whatever was
    read of records before is read anew afterwards.
    """
    db.flush()
    connection = db.connection()
    count = decide(connection, person, held_step(connection, person, step_id, ask.key), ask, at)
    if not count.is_seen:
        write_down(connection, count)
        db.expire_all()
        _follow(db, count)
    return count.now


def add_plainly(connection: Connection, person: Person, step_id: int, ask: TallyAsk, at: datetime) -> Added | None:
    """The same of a count that changes nothing but sums; None of any other, and then nothing is written.

    What refuses it does so before anything is written.
    """
    count = decide(connection, person, held_step(connection, person, step_id, ask.key), ask, at)
    return None if count.is_seen or not count.is_plain else Added(write_down(connection, count), count.now)


def decide(connection: Connection, person: Person, held: Held, ask: TallyAsk, at: datetime) -> Count:
    """What is to be written for a count, or its refusal; nothing is written."""
    change = checked(connection, held.line, ask, at)
    body = digest_of(person, held.line, ask)
    if held.seen is not None:
        if held.seen != body:
            raise Conflict(KEY_USED)
        return Count(held, {}, {}, now_of(held.line), is_seen=True)
    check_open(held)
    _check_not_countered(connection, ask)
    overruled = _check_gates(person, [line.state for line in held.lines], held.place, ask)
    amounts = moved(held.lines, held.place, change, more_on_cloth=ask.more_on_cloth, unpicked=ask.kind == "unpick")
    row = row_of(person, (held.line.id, held.garment_id), ask, at) | {
        "counted_tenths": abs(change),
        "body_sha256": body,
        "overruled": overruled,
    }
    return Count(held, row, amounts, now_of(held.line.as_far_as(*amounts[held.place])))


def write_down(connection: Connection, count: Count) -> int:
    """Write a count, its step and its garment's summary; the entry's number. Refused when its key came in elsewhere."""
    held = count.held
    try:
        written = connection.execute(_INSERT, count.row).inserted_primary_key
    except IntegrityError as error:
        raise Conflict(KEY_USED) from error
    for place, (quantity, done) in count.amounts.items():
        connection.execute(_MOVE, {"step_id": held.lines[place].id, "quantity": quantity, "done": done})
    summary = summary_of(as_moved(held.lines, count.amounts))
    connection.execute(
        _SUMMARISE,
        {
            "garment": held.garment_id,
            "new_planned_ms": summary.planned_ms,
            "new_left_ms": summary.left_ms,
            "new_next_step_id": summary.next_step_id,
            "new_start_by": start_by(held.wanted_on, summary.left_ms, held.usual_minutes),
        },
    )
    assert written is not None
    return int(written[0])


def now_of(line: Line) -> StepNow:
    """A step as it stands."""
    return StepNow(line.id, line.state.operation, line.unit, line.quantity_tenths / 10, line.done_tenths / 10)


def countable_step(db: Writing, person: Person, step_id: int) -> Step:
    """The step's record, its garment held for this change; refused when unknown or in other hands."""
    db.flush()
    held_step(db.connection(), person, step_id)
    db.expire_all()  # what was read before it was held may have changed
    return db.get_one(Step, step_id)


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
    db.flush()
    line = held_step(db.connection(), person, step_id).line
    left = Decimal(line.quantity_tenths - line.done_tenths) / 10
    return add_tally(db, person, step_id, TallyAsk(key, left, minutes=minutes), at) if left else now_of(line)


def checked(connection: Connection, line: Line, ask: TallyAsk, at: datetime) -> int:
    """The change of the step in tenths, after every check of what was typed."""
    faults: dict[str, str] = {}
    if not 1 <= len(ask.key) <= MOST_KEY:
        faults["key"] = f"A key has 1 to {MOST_KEY} characters."
    if ask.kind not in TALLY_KINDS:
        faults["kind"] = f"Say one of {', '.join(TALLY_KINDS)}."
    if (fault := _fault_of_count(line, ask.counted)) is not None:
        faults["counted"] = fault
    if ask.minutes is not None and not 0 <= ask.minutes <= MOST_MINUTES:
        faults["minutes"] = f"Minutes run from 0 to {MOST_MINUTES:,}."
    if ask.at is not None and not at - CLAIM_BACK <= ask.at <= at + CLAIM_AHEAD:
        faults["at"] = "That time is too far from now."
    if (fault := _fault_of_counter(connection, line, ask)) is not None:
        faults["counters_id"] = fault
    if faults:
        raise Unreadable(faults)
    tenths = int(ask.counted * 10)
    return tenths if ask.kind == "work" else -tenths


def _fault_of_count(line: Line, counted: Decimal) -> str | None:
    if not counted.is_finite() or not 0 < counted <= MOST_COUNTED:
        return f"Count more than nothing, and at most {MOST_COUNTED:,}."
    if line.unit != "cm" and counted != counted.to_integral_value():
        return f"Count whole {line.unit}s."
    if counted * 10 != (counted * 10).to_integral_value():
        return "Count to a tenth at the finest."
    return None


def _fault_of_counter(connection: Connection, line: Line, ask: TallyAsk) -> str | None:
    if ask.counters_id is None:
        return None
    wrong = connection.execute(_ENTRY, {"entry": ask.counters_id}).first()
    if wrong is None or wrong.step_id != line.id or wrong.kind != "work" or ask.kind != "counter":
        return "Only a counter names an entry, and only one of work on this step."
    return "Take an entry back whole." if ask.counted * 10 != wrong.counted_tenths else None


def _check_not_countered(connection: Connection, ask: TallyAsk) -> None:
    if ask.counters_id is not None:
        before = connection.execute(_COUNTER_OF, {"entry": ask.counters_id}).first()
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


def row_of(person: Person, step: tuple[int, int], ask: TallyAsk, at: datetime) -> dict[str, Any]:
    """The row of a count on a step of a garment, but for what the gates and its amount add to it."""
    step_id, garment_id = step
    return {
        "key": ask.key,
        "step_id": step_id,
        "garment_id": garment_id,
        "account_id": person.id,
        "stitcher_id": person.stitcher_id,
        "kind": ask.kind,
        "seconds": None if ask.minutes is None else round(ask.minutes * 60),
        "counters_id": ask.counters_id,
        "reason": ask.overrule.strip() or ask.reason.strip(),
        "at": ask.at or at,
        "recorded_at": at,
    }


def digest_of(person: Person, line: Line, ask: TallyAsk) -> str:
    """What tells a count sent again from another under the same key."""
    said = {
        **{name: getattr(ask, name) for name in _ASKED},
        "person": person.id,
        "step": line.id,
        "counted": str(ask.counted.normalize()),
        "minutes": None if ask.minutes is None else str(ask.minutes.normalize()),
        "at": None if ask.at is None else ask.at.astimezone(UTC).isoformat(),
    }
    return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()


_ASKED = tuple(field.name for field in fields(TallyAsk))


def _follow(db: Writing, count: Count) -> None:
    """What a count brings with it: cloth cut from the bolt, the garment in work, panels joined, events."""
    held, row, at = count.held, count.row, count.row["recorded_at"]
    operation = held.line.state.operation
    if operation == "cut_block" and held.panel_id is not None:
        use_cloth(db, held.panel_id, row["kind"], row["account_id"], at)
    if count.more is not None:
        _keep(db, row, MORE_ON_CLOTH, *(f"{tenths / 10:g}" for tenths in count.more))
    if row["overruled"]:
        _keep(db, row, OVERRULED)
    if held.state == "planned" and row["kind"] == "work":
        db.get_one(Garment, held.garment_id).state = "in work"
    if operation == "cut_out":
        panels = db.exec(select(Panel).where(Panel.garment_id == held.garment_id))
        settle(db, db.get_one(Garment, held.garment_id), list(panels), at)


def _keep(db: Writing, row: dict[str, Any], action: str, before: str = "", after: str = "") -> None:
    db.add(
        Event(
            at=row["recorded_at"],
            account_id=row["account_id"],
            garment_id=row["garment_id"],
            action=action,
            object_kind="step",
            object_id=row["step_id"],
            reason=row["reason"],
            before=before,
            after=after,
        )
    )
