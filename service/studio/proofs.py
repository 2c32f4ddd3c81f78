"""What must always hold in the records: statements as queries, and what is reckoned afresh from the steps."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import or_, select, text
from sqlmodel import col

from service.reckoning.gates import overruns
from service.records.db import Reading
from service.records.tables import Event, Garment, Step
from service.studio.event_proofs import CHAINED, broken_chain
from service.studio.lines import Line, every_line
from service.studio.log import MORE_ON_CLOTH, OVERRULED
from service.studio.quote_proofs import PROMISED, broken_promises
from service.studio.recount import RECOUNTED
from service.studio.rescue import RESCUED
from service.studio.standing import Summary, start_by, summary_of, usual_minutes
from service.studio.statements import STATEMENTS
from service.studio.statements_books import BOOKS
from service.studio.statements_diary import DIARY
from service.studio.statements_doors import DOORS
from service.studio.statements_handovers import HANDOVERS
from service.studio.statements_photos import PHOTOS
from service.studio.statements_quotes import QUOTES
from service.studio.statements_table import TABLE

EVERY = (*STATEMENTS, *PHOTOS, *BOOKS, *DIARY, *HANDOVERS, *QUOTES, *TABLE, *DOORS)
OPEN = ("planned", "in work")
RECKONED = (
    "a garment's summary is what its steps come to",
    "an open garment must be begun when what is left of it says so",
    (
        "no step is further than the order of work lets it be, unless the owner passed it, the cloth was recounted, or "
        "a way out was taken"
    ),
)


@dataclass(frozen=True, slots=True)
class Report:
    """How many statements were checked, and a line for every record that breaks one."""

    proved: int
    faults: tuple[str, ...]


def prove(db: Reading) -> Report:
    """Check every statement on the data."""
    faults = [
        _fault(statement.says, row[0])
        for statement in EVERY
        for row in db.connection().execute(text(statement.breaking))
    ]
    faults += [_fault(says, number) for says, number in (*broken_promises(db), *broken_chain(db))]
    return Report(len(EVERY) + len(RECKONED) + len(PROMISED) + len(CHAINED), (*faults, *_reckoned(db)))


def _fault(says: str, number: int) -> str:
    return f"It does not hold that {says}: record {number}."


def _reckoned(db: Reading) -> Iterator[str]:
    """Every fault of what is reckoned afresh, garment by garment."""
    garments = {garment.id: garment for garment in db.execute(select(*_SUMMARY))}
    if not garments:
        return
    minutes, excused = usual_minutes(db), _excused(db)
    for garment_id, lines in every_line(db):
        garment = garments[garment_id]
        found = summary_of(lines)
        if found != Summary(garment.planned_ms, garment.left_ms, garment.next_step_id):
            yield _fault(RECKONED[0], garment_id)
        if garment.state in OPEN and garment.start_by != start_by(garment.wanted_on, found.left_ms, minutes):
            yield _fault(RECKONED[1], garment_id)
        yield from (_fault(RECKONED[2], step_id) for step_id in _too_far(lines, excused))


_SUMMARY: tuple[Any, ...] = (
    *(Garment.id, Garment.state, Garment.wanted_on),
    *(Garment.planned_ms, Garment.left_ms, Garment.next_step_id, Garment.start_by),
)


def _too_far(lines: Sequence[Line], excused: frozenset[int]) -> Iterator[int]:
    if all(line.done_tenths >= line.quantity_tenths for line in lines):
        return
    for place, earlier in overruns([line.state for line in lines]):
        step_id = lines[place].id
        if not {step_id, lines[earlier].id} & excused:
            yield step_id


def _excused(db: Reading) -> frozenset[int]:
    """Steps that may be out of order: passed by the owner, or of a section whose cloth was counted otherwise."""
    steps = select(col(Event.object_id)).where(
        col(Event.object_kind) == "step", col(Event.action).in_((OVERRULED, MORE_ON_CLOTH))
    )
    sections = select(col(Event.object_id)).where(
        col(Event.object_kind) == "section", col(Event.action).in_((RECOUNTED, RESCUED))
    )
    touched = select(col(Step.section_id)).where(col(Step.id).in_(steps), col(Step.section_id).is_not(None))
    found = select(col(Step.id)).where(
        or_(
            col(Step.id).in_(steps),
            col(Step.section_id).in_(sections),
            col(Step.section_id).in_(touched),
        )
    )
    return frozenset(db.execute(found).scalars())
