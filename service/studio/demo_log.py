"""A stretch of work on a garment of the demo: session after session, each allowed by the gates."""

import hashlib
import random
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Any

from sqlmodel import col, select

from service.reckoning.gates import refusal
from service.records.db import Writing
from service.records.tables import Garment, Panel, Step, Tally
from service.studio.cutting import use_cloth
from service.studio.demo_records import Worker
from service.studio.hands import settle
from service.studio.lines import Line, lines_of
from service.studio.standing import write_summary

SESSION_S = (15 * 60, 65 * 60)
NOISE = 0.14  # spread of ln seconds a unit from one session to the next
EVENING = time(20, 30)


@dataclass(frozen=True, slots=True)
class Stretch:
    """Who works, until which share of the garment's guessed hours is done, ending on which day.

    `stop` ends it earlier: inside one step of a section, with so much of it left.
    """

    worker: Worker
    until: float
    ended: datetime
    stop: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Session:
    """So much of one step in one sitting."""

    line: Line
    counted_tenths: int
    seconds: int


def work_on(db: Writing, garment: Garment, stretch: Stretch) -> datetime:
    """Work on a garment as the stretch says and return when it ended; every count is in order."""
    assert garment.id is not None
    lines = lines_of(db, garment.id)
    draw = random.Random(f"{garment.id} {stretch.worker.person.name} {stretch.until}")  # noqa: S311 - a made-up log
    sessions = list(_sessions(lines, stretch, draw))
    days = _days(sessions, stretch)
    rows = [
        _row(garment, stretch, session, day, n) for n, (session, day) in enumerate(zip(sessions, days, strict=True))
    ]
    db.add_all(rows)
    db.flush()
    _settle(db, garment, sessions, rows)
    return max(days, default=stretch.ended)


def _sessions(lines: list[Line], stretch: Stretch, draw: random.Random) -> Iterator[Session]:
    """Sittings in the garment's order; `lines` are moved on as they go."""
    planned = sum(line.planned_ms for line in lines)
    left = sum(line.left_ms for line in lines)
    for place in range(len(lines)):
        while (line := lines[place]).done_tenths < line.quantity_tenths:
            most = _most(line, stretch.stop)
            if most <= line.done_tenths or left <= planned * (1 - stretch.until) + 1:
                return
            session = _sitting(line, most, stretch.worker, draw)
            assert refusal([other.state for other in lines], place, session.counted_tenths / 10) is None
            lines[place] = line.as_far_as(line.quantity_tenths, line.done_tenths + session.counted_tenths)
            left -= line.left_ms - lines[place].left_ms
            yield session


def _most(line: Line, stop: Mapping[str, Any]) -> int:
    """How far this step is worked, in tenths, before the stretch stops inside it."""
    if (line.state.section, line.state.operation) == (stop.get("section"), stop.get("operation")):
        return line.quantity_tenths - round(float(stop["left"]) * 10)
    return line.quantity_tenths


def _sitting(line: Line, most: int, worker: Worker, draw: random.Random) -> Session:
    unit_s = line.unit_ms / 1000 * worker.pace * draw.lognormvariate(0, NOISE)
    planned = draw.uniform(*SESSION_S)
    tenths = _whole(line, round(planned / max(unit_s, 0.01) * 10))
    counted = min(max(tenths, 1 if line.unit == "cm" else 10), most - line.done_tenths)
    minutes = max(1, round(counted / 10 * unit_s / 60))
    return Session(line, counted, minutes * 60)


def _whole(line: Line, tenths: int) -> int:
    """A count to a tenth for lengths, whole for everything else."""
    return tenths if line.unit == "cm" else tenths // 10 * 10


def _days(sessions: list[Session], stretch: Stretch) -> list[datetime]:
    """When each sitting was, counted back from the last: no day holds more than she works on it."""
    found: list[datetime] = []
    day, used = stretch.ended, 0
    for session in reversed(sessions):
        minutes = session.seconds // 60
        while not _has_room(stretch.worker, day, used, minutes):
            day, used = day - timedelta(days=1), 0
        used += minutes
        found.append(datetime.combine(day.date(), EVENING, day.tzinfo) - timedelta(minutes=used))
    return found[::-1]


def _has_room(worker: Worker, day: datetime, used: int, minutes: int) -> bool:
    works = worker.minutes[day.weekday()]
    return works > 0 and (used == 0 or used + minutes <= works)


def _row(garment: Garment, stretch: Stretch, session: Session, at: datetime, number: int) -> Tally:
    assert garment.id is not None
    person = stretch.worker.person
    key = f"demo-{garment.id}-{person.id}-{number}"
    return Tally(
        key=key,
        step_id=session.line.id,
        garment_id=garment.id,
        account_id=person.id,
        stitcher_id=person.stitcher_id,
        kind="work",
        counted_tenths=session.counted_tenths,
        seconds=session.seconds,
        body_sha256=hashlib.sha256(key.encode()).hexdigest(),
        at=at,
        recorded_at=at,
    )


def _settle(db: Writing, garment: Garment, sessions: list[Session], rows: list[Tally]) -> None:
    """What the counts bring with them: steps moved on, cloth cut, panels joined, the summary."""
    done: dict[int, int] = {}
    for session in sessions:
        done[session.line.id] = done.get(session.line.id, 0) + session.counted_tenths
    for step in db.exec(select(Step).where(col(Step.id).in_(done))):
        assert step.id is not None
        step.done_tenths += done[step.id]
        db.add(step)
    for session, row in zip(sessions, rows, strict=True):
        if session.line.state.operation == "cut_block":
            panel_id = db.get_one(Step, session.line.id).panel_id
            assert panel_id is not None
            use_cloth(db, panel_id, row.kind, row.account_id, row.at)
    if rows and garment.state == "planned":
        garment.state = "in work"
    db.flush()
    panels = list(db.exec(select(Panel).where(Panel.garment_id == garment.id)))
    settle(db, garment, panels, rows[-1].at if rows else garment.created_at)
    assert garment.id is not None
    write_summary(db, garment, lines_of(db, garment.id))
