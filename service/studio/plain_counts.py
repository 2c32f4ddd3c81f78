"""The count that is made all day: work in order on a step that it does not finish, by whoever has it in hand.

It moves nobody else's step and no gate but its own, so that only the lines that could speak against it are read, and
what is left of the garment follows by what the count takes off. `check` holds it against a fresh reckoning.
"""

from datetime import datetime
from typing import Any

from sqlalchemy import BindParameter, Connection, bindparam, insert, or_, select, update
from sqlmodel import SQLModel

from service.reckoning.gates import Owner, StepState, refusal
from service.records.db import Writing
from service.records.prepared import Prepared, Row
from service.studio.held import is_hers
from service.studio.lines import Line
from service.studio.log import LEADS_ON, Added, StepNow, TallyAsk, add_tally, checked, digest_of, now_of, row_of
from service.studio.sign_in import Person
from service.studio.standing import start_by

OPENS_MORE = LEADS_ON | {"clip"}
"""Operations of which each part done lets others begin."""
_TABLES = SQLModel.metadata.tables
_GARMENT, _STEP, _SECTION, _PANEL, _TALLY = (
    _TABLES[name].c for name in ("garment", "step", "section", "panel", "tally")
)
_OWN = _TABLES["step"].alias("own").c
_THE_STEP = _STEP.id == bindparam("step_id")
_HOLD = Prepared(
    select(
        *(_GARMENT.id, _GARMENT.wanted_on, _GARMENT.holder_id, _GARMENT.joined_at.is_not(None)),
        *(_GARMENT.left_ms, _GARMENT.next_step_id),
    )
    .where(_GARMENT.id == select(_STEP.garment_id).where(_THE_STEP).scalar_subquery(), _GARMENT.state == "in work")
    .with_for_update()
)
# All that a gate can look at for work on a step that is not cutting: its section, and what is cut.
_READ = Prepared(
    select(
        *(_STEP.id, _STEP.operation, _STEP.unit, _STEP.quantity_tenths, _STEP.done_tenths, _STEP.unit_ms),
        *(_STEP.position, _STEP.panel_id, _STEP.section_id, _SECTION.owner, _PANEL.holder_id),
        select(_TABLES["studio"].c.usual_minutes_a_day).scalar_subquery(),
        select(_TALLY.id).where(_TALLY.key == bindparam("key")).scalar_subquery(),
    )
    .select_from(_TABLES["step"])
    .outerjoin(_TABLES["panel"], _STEP.panel_id == _PANEL.id)
    .outerjoin(_TABLES["section"], _STEP.section_id == _SECTION.id)
    .where(
        _STEP.garment_id == bindparam("garment_id"),
        or_(
            _THE_STEP,
            _STEP.section_id == select(_OWN.section_id).where(_OWN.id == bindparam("step_id")).scalar_subquery(),
            *(_STEP.operation == operation for operation in sorted(LEADS_ON)),
        ),
    )
)
_ENTERED: dict[str, BindParameter[Any]] = {name: bindparam(name) for name in _TALLY.keys() if name != "id"}  # noqa: SIM118 (no mapping)
_ENTER = Prepared(insert(_TABLES["tally"]).values(_ENTERED).returning(_TALLY.id))
_MOVE = Prepared(update(_TABLES["step"]).where(_THE_STEP).values(done_tenths=bindparam("done")))
_LEFT = Prepared(
    update(_TABLES["garment"])
    .where(_GARMENT.id == bindparam("garment_id"))
    .values(left_ms=bindparam("left"), start_by=bindparam("begin"))
)


def add_shortly(db: Writing, person: Person, step_id: int, ask: TallyAsk, at: datetime) -> StepNow:
    """Keep any count: the short way where it is in order, else the long one. What was read before is read anew."""
    db.flush()
    added = add_in_order(db.connection(), person, step_id, ask, at)
    if added is None:
        return add_tally(db, person, step_id, ask, at)
    db.expire_all()
    return added.now


def add_in_order(connection: Connection, person: Person, step_id: int, ask: TallyAsk, at: datetime) -> Added | None:
    """Keep such a count; None of any other, and nothing written. What refuses it does so before anything is written."""
    garment = next(iter(_HOLD.rows(connection, {"step_id": step_id})), None)
    if garment is None or ask.kind != "work" or ask.counters_id is not None:
        return None
    garment_id, wanted_on, holder_id, is_joined, left_ms, next_step_id = garment
    rows = _READ.rows(connection, {"garment_id": garment_id, "step_id": step_id, "key": ask.key})
    place = next(place for place, row in enumerate(rows) if row[0] == step_id)
    panel_id, (panel_holder_id, usual_minutes, seen) = rows[place][7], rows[place][-3:]
    holder_id = holder_id if is_joined or panel_id is None else panel_holder_id
    if seen is not None or not is_hers(person, holder_id):
        return None
    states = [_state(row) for row in rows]
    line = _line(rows[place], states[place])
    tenths = checked(connection, line, ask, at)
    then = line.as_far_as(line.quantity_tenths, line.done_tenths + tenths)
    if not _is_in_order(states, place, then, tenths) or (line.id == next_step_id and not _goes_on(states, place, then)):
        return None
    left_ms -= line.left_ms - then.left_ms
    entered = row_of(person, (step_id, garment_id), ask, at)
    entered |= {"counted_tenths": tenths, "body_sha256": digest_of(person, line, ask), "overruled": False}
    ((tally_id,),) = _ENTER.rows(connection, entered)
    _MOVE.rows(connection, {"step_id": step_id, "done": then.done_tenths})
    begin = start_by(wanted_on, left_ms, usual_minutes)
    _LEFT.rows(connection, {"garment_id": garment_id, "left": left_ms, "begin": begin})
    return Added(tally_id, now_of(then))


def _is_in_order(states: list[StepState], place: int, then: Line, tenths: int) -> bool:
    """Whether nothing speaks against it, and no other step's gate opens by it."""
    if then.done_tenths >= then.quantity_tenths or then.state.operation in OPENS_MORE:
        return False
    return refusal(states, place, tenths / 10) is None


def _goes_on(states: list[StepState], place: int, then: Line) -> bool:
    """Whether the step that was the next one stays it."""
    after = [*states[:place], then.state, *states[place + 1 :]]
    return refusal(after, place, then.least) is None


def _state(row: Row) -> StepState:
    """A line as the gates see it: parts are told apart by their numbers, which no refusal shows here."""
    _, operation, _, quantity, done, _, position, panel_id, section_id, owner, *_ = row
    of: Owner = "panel" if section_id is None else ("garment" if owner == "garment" else "section")
    section, panel = (None if number is None else str(number) for number in (section_id, panel_id))
    return StepState(operation, quantity / 10, done / 10, position, of, section, panel)


def _line(row: Row, state: StepState) -> Line:
    number, _, unit, quantity_tenths, done_tenths, unit_ms, *_ = row
    return Line(number, unit, quantity_tenths, done_tenths, unit_ms, state)
