"""The log as books: time by stitcher, piece, operation and month, each in one query; the whole log, row after row.

Time counts as it was logged. An entry taken back counts as if it had never been, on its own day and for whoever
counted it; a counter that names no entry takes its minutes off; what was unpicked keeps its old minutes and adds
its own.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, Row, and_, case, func, literal, select
from sqlalchemy.orm import aliased
from sqlmodel import col

from service.records.db import Reading, Writing
from service.records.tables import Account, Garment, Panel, Section, Step, Stitcher, StitcherPayment, Tally
from service.records.unchanged import while_unchanged

PAGE = 50
ROWS_AT_ONCE = 2000
NEWEST = 5000  # more entries than a studio logs in a day


@dataclass(frozen=True, slots=True)
class Span:
    """From a moment on and before another; None is without end."""

    since: datetime | None = None
    before: datetime | None = None

    def holds(self, moment: Any) -> ColumnElement[bool]:
        """Whether a moment lies in it."""
        since = literal(value=True) if self.since is None else moment >= self.since
        return and_(since, literal(value=True) if self.before is None else moment < self.before)


ALWAYS = Span()


@dataclass(frozen=True, slots=True)
class Stretch:
    """Time worked by one person between two cuts; `cut` is how many of the cuts lie at or before it."""

    stitcher_id: int | None
    account_id: int | None
    name: str
    cut: int
    seconds: int


def first_and_last(db: Reading | Writing, span: Span) -> tuple[datetime | None, datetime | None]:
    """When the earliest and the latest entry with minutes in the span were worked."""
    found = select(func.min(col(Tally.at)), func.max(col(Tally.at))).where(col(Tally.seconds) > 0, _COUNTS)
    first, last = db.execute(found.where(span.holds(col(Tally.at)))).one()
    return first, last


def worked_by_person(
    db: Reading | Writing, span: Span, cuts: Sequence[datetime], stitcher_id: int | None = None
) -> list[Stretch]:
    """Time by person and by what lies between the cuts, which are in order."""
    account = case((col(Tally.stitcher_id).is_(None), col(Tally.account_id)))
    between = _between(list(cuts), 0)
    by = (col(Tally.stitcher_id), account, between)
    found = select(*(each.label(name) for each, name in zip(by, ("stitcher_id", "account_id", "cut"), strict=True)))
    summed = _timed(found.add_columns(_SECONDS.label("seconds")), span).group_by(*by)
    if stitcher_id is not None:
        summed = summed.where(col(Tally.stitcher_id) == stitcher_id)
    sums = summed.subquery()
    named = (
        select(sums, func.coalesce(Stitcher.name, Account.name, "").label("name"))
        .outerjoin(Stitcher, sums.c.stitcher_id == Stitcher.id)
        .outerjoin(Account, sums.c.account_id == Account.id)
        .order_by("name", sums.c.stitcher_id, sums.c.account_id, sums.c.cut)
    )
    return [Stretch(row.stitcher_id, row.account_id, row.name, row.cut, int(row.seconds)) for row in db.execute(named)]


def worked_by_operation(db: Reading | Writing, span: Span) -> Sequence[Row[Any]]:
    """Operation, unit, tenths of it done, seconds."""
    done = func.sum(case((col(Tally.kind) == "work", col(Tally.counted_tenths)), else_=-col(Tally.counted_tenths)))
    by = (col(Step.operation), col(Step.unit))
    found = select(*by, done.label("tenths"), _SECONDS.label("seconds"))
    counted = found.join(Step, col(Tally.step_id) == Step.id).where(_COUNTS, span.holds(col(Tally.at)))
    return db.execute(counted.group_by(*by)).all()


def worked_by_piece(
    db: Reading | Writing, span: Span, beyond: int | None = None, limit: int | None = PAGE
) -> tuple[list[Row[Any]], bool]:
    """Number, name, state, seconds of pieces with time logged, the newest first; and whether there are more."""
    sums = _timed(select(col(Tally.garment_id), _SECONDS.label("seconds")), span).group_by(col(Tally.garment_id))
    if beyond is not None:
        sums = sums.where(col(Tally.garment_id) < beyond)
    timed = sums.order_by(col(Tally.garment_id).desc()).limit(None if limit is None else limit + 1).subquery()
    found = (
        select(*_PIECE, timed.c.seconds).join(timed, timed.c.garment_id == Garment.id).order_by(col(Garment.id).desc())
    )
    rows = list(db.execute(found))
    return (rows, False) if limit is None else (rows[:limit], len(rows) > limit)


def seconds_in(db: Reading | Writing, span: Span) -> int:
    """All time logged in the span, in seconds."""
    return int(db.execute(_timed(select(func.coalesce(_SECONDS, 0)), span)).scalar_one())


@while_unchanged
def seconds_of_newest(db: Reading | Writing, span: Span, account_id: int) -> int:
    """What one person logged in a span that has just been, in seconds: looked for among the newest entries alone."""
    last = select(func.coalesce(func.max(Tally.id), 0) - NEWEST).scalar_subquery()
    own = _timed(select(func.coalesce(_SECONDS, 0)), span).where(col(Tally.account_id) == account_id)
    return int(db.execute(own.where(col(Tally.id) > last)).scalar_one())


def paid_to(db: Reading | Writing, stitcher_id: int | None = None) -> dict[int, int]:
    """What was paid to each stitcher, or to one, what was taken back left out; minor units."""
    amount = col(StitcherPayment.amount_minor)
    signed = case((col(StitcherPayment.kind) == "paid", amount), else_=-amount)
    whose = col(StitcherPayment.stitcher_id)
    found = select(whose, func.sum(signed)).group_by(whose)
    if stitcher_id is not None:
        found = found.where(whose == stitcher_id)
    return {number: int(minor) for number, minor in db.execute(found)}


def every_entry(db: Reading | Writing, span: Span) -> Iterator[Row[Any]]:
    """The whole log in the order in which it came in, read a little at a time."""
    counter = aliased(Tally)
    found = (
        select(
            *_ENTRY, col(counter.id).label("counter_id"), func.coalesce(Stitcher.name, Account.name, "").label("who")
        )
        .join(Step, col(Tally.step_id) == Step.id)
        .join(Garment, col(Tally.garment_id) == Garment.id)
        .outerjoin(Section, col(Step.section_id) == Section.id)
        .outerjoin(Panel, col(Step.panel_id) == Panel.id)
        .outerjoin(Stitcher, col(Tally.stitcher_id) == Stitcher.id)
        .outerjoin(Account, col(Tally.account_id) == Account.id)
        .outerjoin(counter, col(counter.counters_id) == Tally.id)
        .where(span.holds(col(Tally.at)))
        .order_by(col(Tally.id))
    )
    yield from db.execute(found.execution_options(yield_per=ROWS_AT_ONCE))


def _between(cuts: list[datetime], first: int) -> Any:
    """How many cuts lie at or before the moment an entry was worked, found by halving: few comparisons an entry."""
    if not cuts:
        return literal(first)
    middle = len(cuts) // 2
    before, after = _between(cuts[:middle], first), _between(cuts[middle + 1 :], first + middle + 1)
    return case((col(Tally.at) < cuts[middle], before), else_=after)


def _timed(found: Any, span: Span) -> Any:
    return found.select_from(Tally).where(col(Tally.seconds) > 0, _COUNTS, span.holds(col(Tally.at)))


_PIECE: tuple[Any, ...] = (Garment.id, Garment.name, Garment.state, Garment.finished_at)
_ENTRY: tuple[Any, ...] = (
    *(Tally.id, Tally.kind, Tally.counted_tenths, Tally.seconds, Tally.at, Tally.overruled, Tally.reason),
    *(Tally.counters_id, Step.operation, Step.unit, col(Garment.name).label("piece")),
    *(col(Panel.name).label("panel"), col(Section.name).label("section")),
)
_COUNTER = aliased(Tally)
# few are named by a counter: found once, not looked for again with every entry
_TAKEN_BACK = select(col(_COUNTER.counters_id)).where(col(_COUNTER.counters_id).is_not(None))
_COUNTS = and_(col(Tally.counters_id).is_(None), col(Tally.id).not_in(_TAKEN_BACK))
_SECONDS = func.sum(case((col(Tally.kind) == "counter", -col(Tally.seconds)), else_=col(Tally.seconds)))
