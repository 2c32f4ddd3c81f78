"""What paces are learned from and asked about: logged work and work left, in one query each."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from sqlalchemy import Row, exists, func, select
from sqlalchemy.orm import aliased
from sqlmodel import col

from service.records.db import Reading, Writing
from service.records.tables import Event, Garment, Panel, RateGuess, Section, Step, Tally
from service.records.unchanged import while_unchanged

NEWEST_ENTRIES = 20_000  # more than the newest day-blocks that a fit looks at
NEWEST_COUNTED = 100
ROWS_AT_A_TIME = 1000


@dataclass(frozen=True, slots=True)
class LogMark:
    """By what to know that the log has grown: its newest entry, and how many of the newest hundred are there.

    Numbers are given out before they are kept, so that an entry may come in behind a newer one. `guesses` counts how
    often the owner set one.
    """

    newest: int
    many: int
    guesses: int = 0


@dataclass(frozen=True, slots=True)
class WorkMark:
    """By what to know that work left has changed: the log's mark, and the same of the events."""

    log: LogMark
    events: LogMark


def log_mark(db: Reading | Writing) -> LogMark:
    """The mark of the log as this session sees it."""
    return work_mark(db).log


@while_unchanged
def work_mark(db: Reading | Writing) -> WorkMark:
    """The mark of all that changes work left, as this session sees it."""
    tallies, many_tallies, events, many_events, guesses = db.execute(_MARK).one()
    return WorkMark(LogMark(tallies or 0, many_tallies, guesses), LogMark(events or 0, many_events))


def _mark_of(number: Any) -> tuple[Any, Any]:
    before = select(func.max(number) - NEWEST_COUNTED).scalar_subquery()
    recent = select(func.count()).where(number > before).scalar_subquery()
    return select(func.max(number)).scalar_subquery(), recent


_GUESSES = select(func.count()).select_from(RateGuess).scalar_subquery()
_MARK = select(*_mark_of(col(Tally.id)), *_mark_of(col(Event.id)), _GUESSES)


def logged_work(db: Reading | Writing) -> Iterator[Row[Any]]:
    """The newest work logged with its minutes, entries taken back left out; the newest first, some at a time."""
    counter = aliased(Tally)
    taken_back = exists().where(col(counter.counters_id) == col(Tally.id))
    found = (
        select(*_LOGGED, *_FINENESS)
        .select_from(Tally)
        .join(Step, col(Tally.step_id) == Step.id)
        .outerjoin(Section, col(Step.section_id) == Section.id)
        .outerjoin(Panel, col(Step.panel_id) == Panel.id)
        .where(col(Tally.kind) == "work", col(Tally.seconds) > 0, ~taken_back)
        .order_by(col(Tally.id).desc())
        .limit(NEWEST_ENTRIES)
        .execution_options(yield_per=ROWS_AT_A_TIME)
    )
    return iter(db.execute(found))


def work_left(db: Reading | Writing, garment_ids: Iterable[int]) -> Sequence[Row[Any]]:
    """The steps of these garments that have something left, and whose hands they are in."""
    found = (
        select(*_LEFT, *_FINENESS)
        .select_from(Step)
        .join(Garment, col(Step.garment_id) == Garment.id)
        .outerjoin(Section, col(Step.section_id) == Section.id)
        .outerjoin(Panel, col(Step.panel_id) == Panel.id)
        .where(col(Step.garment_id).in_(garment_ids), col(Step.done_tenths) < col(Step.quantity_tenths))
        .order_by(col(Step.garment_id), col(Step.position))
    )
    return db.execute(found).all()


def pieces_finished(db: Reading | Writing, most: int) -> Sequence[Row[Any]]:
    """Number, name and day of the garments finished last, the latest first."""
    found = select(col(Garment.id), col(Garment.name), col(Garment.finished_at)).where(
        col(Garment.state).in_(("finished", "delivered"))
    )
    return db.execute(found.order_by(col(Garment.finished_at).desc(), col(Garment.id).desc()).limit(most)).all()


def step_felt(db: Reading | Writing, step_id: int) -> Row[Any]:
    """One step's operation, thread length and counts."""
    found = (
        select(col(Step.garment_id), *_FINENESS)
        .select_from(Step)
        .outerjoin(Section, col(Step.section_id) == Section.id)
        .outerjoin(Panel, col(Step.panel_id) == Panel.id)
        .where(col(Step.id) == step_id)
    )
    return db.execute(found).one()


def _count(system: Literal["warp_per_cm", "weft_per_cm"]) -> Any:
    """A panel's count; of a step that lies on several panels the mean of the garment's."""
    every = aliased(Panel)
    mean = select(func.avg(getattr(every, system))).where(col(every.garment_id) == col(Step.garment_id))
    return func.coalesce(getattr(Panel, system), mean.correlate(Step).scalar_subquery()).label(system)


_FINENESS: tuple[Any, ...] = (
    *(Step.operation, Step.thread_length_um, Section.direction),
    *(_count("warp_per_cm"), _count("weft_per_cm")),
)
_LOGGED: tuple[Any, ...] = (
    *(Tally.at, Tally.stitcher_id, Tally.account_id, Tally.garment_id),
    *(Tally.counted_tenths, Tally.seconds),
)
_LEFT: tuple[Any, ...] = (
    *(Step.panel_id, Step.section_id, Section.owner),
    *(Step.garment_id, (col(Step.quantity_tenths) - col(Step.done_tenths)).label("left_tenths")),
    func.coalesce(Garment.holder_id, Panel.holder_id).label("holder_id"),
)
