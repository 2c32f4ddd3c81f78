"""The log as books: time by stitcher, piece, operation and month, each in one query; the whole log, row after row.

Time counts as it was logged. An entry taken back counts as if it had never been, on its own day and for whoever
counted it; a counter that names no entry takes its minutes off; what was unpicked keeps its old minutes and adds
its own.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    BigInteger,
    ColumnElement,
    Integer,
    Row,
    Select,
    and_,
    case,
    cast,
    column,
    func,
    literal,
    null,
    select,
    true,
    union_all,
    values,
)
from sqlalchemy.orm import aliased
from sqlmodel import col

from service.records.db import Reading, Writing
from service.records.tables import Account, Garment, Panel, Section, Step, Stitcher, StitcherPayment, Tally
from service.records.tables.columns import Instant
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
EARLIEST, LATEST = datetime.min.replace(tzinfo=UTC), datetime.max.replace(tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Stretch:
    """Time worked by one person between two cuts; `cut` is how many of the cuts lie at or before it."""

    stitcher_id: int | None
    account_id: int | None
    name: str
    cut: int
    seconds: int


@while_unchanged
def first_and_last(db: Reading | Writing, span: Span) -> tuple[datetime | None, datetime | None]:
    """When the earliest and the latest entry with minutes in the span were worked."""
    moment = col(Tally.at)
    inside = and_(moment >= (span.since or EARLIEST), moment < (span.before or LATEST))
    found = db.execute(union_all(*_people((func.min(moment), func.max(moment)), inside))).all()
    firsts, lasts = ([row[place] for row in found if row[place] is not None] for place in (3, 4))
    return min(firsts, default=None), max(lasts, default=None)


@while_unchanged
def worked_by_person(
    db: Reading | Writing, span: Span, cuts: tuple[datetime, ...], stitcher_id: int | None
) -> Sequence[Stretch]:
    """Time by person, or by one, and by what lies between the cuts, which are in order.

    All of it is always said, so that those who ask the same are answered by one sum of the log.
    """
    since, before, moment = span.since or EARLIEST, span.before or LATEST, col(Tally.at)
    columns = (column("cut", Integer), column("since", Instant), column("before", Instant))
    ends = enumerate(zip((EARLIEST, *cuts), (*cuts, LATEST), strict=True))
    stretches = [(cut, max(one, since), min(other, before)) for cut, (one, other) in ends]
    stretch = values(*columns, name="stretch").data(stretches).cte("stretch")
    parts = _people((_SECONDS,), and_(moment >= stretch.c.since, moment < stretch.c.before), stretch)
    if stitcher_id is not None:
        parts = [parts[0].where(col(Stitcher.id) == stitcher_id)]
    found = db.execute(union_all(*parts).order_by("name", "stitcher_id", "account_id", "cut"))
    return tuple(Stretch(row[0], row[1], row[2], row.cut, int(row[3])) for row in found if row[3] is not None)


@while_unchanged
def worked_by_operation(db: Reading | Writing, span: Span) -> Sequence[Row[Any]]:
    """Operation, unit, tenths of it done, seconds.

    Each step is summed first, in the order of an index: sorting the whole log by operations takes longer.
    """
    done = func.sum(case((col(Tally.kind) == "work", col(Tally.counted_tenths)), else_=-col(Tally.counted_tenths)))
    entries = select(col(Tally.step_id), done.label("tenths"), _SECONDS.label("seconds"))
    steps = entries.where(_COUNTS, span.holds(col(Tally.at))).group_by(col(Tally.step_id)).subquery()
    by = (col(Step.operation), col(Step.unit))
    sums = (cast(func.sum(steps.c[name]), BigInteger).label(name) for name in ("tenths", "seconds"))
    found = select(*by, *sums)
    return db.execute(found.join(Step, steps.c.step_id == Step.id).group_by(*by)).all()


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
    return sum(each.seconds for each in worked_by_person(db, span, (), None))


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


def _people(figures: Sequence[Any], inside: ColumnElement[bool], beside: Any = None) -> list[Select[Any]]:
    """Everybody's numbers and name, and figures of the entries that were made with her name.

    Each figure is asked for by itself, over an index in the order of her days: grouping the log would sort all of it.
    """
    parts = []
    for outer, numbers_and_name, own in _WHOSE:
        around = [each for each in (outer, beside) if each is not None]
        entries = [_timed(select(each), ALWAYS).where(own, inside) for each in figures]
        asked = [
            each.correlate(*around).scalar_subquery().label(f"figure_{place}") for place, each in enumerate(entries)
        ]
        part = select(*numbers_and_name, *asked, *(() if beside is None else (beside.c.cut,)))
        parts.append(part.select_from(around[0] if len(around) < 2 else beside.join(outer, true())) if around else part)
    return parts


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
# said so that no database looks entries up by what nearly all of them lack
_COUNTS = and_(func.coalesce(col(Tally.counters_id), 0) == 0, col(Tally.id).not_in(_TAKEN_BACK))
_SECONDS = func.sum(case((col(Tally.kind) == "counter", -col(Tally.seconds)), else_=col(Tally.seconds)))
_NOBODY: Any = cast(null(), Integer)
_NO_STITCHER = col(Tally.stitcher_id).is_(None)
_NAMES = ("stitcher_id", "account_id", "name")
_AS_STITCHER: tuple[Any, ...] = (col(Stitcher.id), _NOBODY, col(Stitcher.name))
_AS_ACCOUNT: tuple[Any, ...] = (_NOBODY, col(Account.id), col(Account.name))
_WHOSE: tuple[tuple[Any, tuple[Any, ...], Any], ...] = tuple(
    (outer, tuple(each.label(name) for name, each in zip(_NAMES, said, strict=True)), own)
    for outer, said, own in (
        (Stitcher, _AS_STITCHER, col(Tally.stitcher_id) == Stitcher.id),
        (Account, _AS_ACCOUNT, and_(_NO_STITCHER, col(Tally.account_id) == Account.id)),
        (None, (_NOBODY, _NOBODY, literal("")), and_(_NO_STITCHER, col(Tally.account_id).is_(None))),
    )
)
