"""Where the garments stand, as lists show them: the columns needed, in a constant number of queries."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from sqlalchemy import ColumnElement, Select, and_, literal, or_, select, true, tuple_
from sqlmodel import col

from service.records.db import Reading, Writing
from service.records.folding import holding, words_of
from service.records.queries.handovers import garments_offered_to
from service.records.tables import Client, Commission, Garment, Handover, Panel, Section, Step, Stitcher
from service.records.unchanged import while_unchanged

PAGE = 50
OPEN = ("planned", "in work")
OVER = ("finished", "delivered", "called off")
SHELF = 0  # stands for "in nobody's hands" where a stitcher's number is asked for


@dataclass(frozen=True, slots=True)
class NextStep:
    """The first step that may be worked on now; `section` and `panel` are names, empty where there is none."""

    id: int
    operation: str
    unit: str
    quantity_tenths: int
    done_tenths: int
    section: str
    panel: str
    section_id: int | None = None


@dataclass(frozen=True, slots=True)
class Standing:
    """One garment as a list shows it. `hands` are the names of those who hold it or a panel of it, in the order
    of the panels; `on_shelf` says whether any panel is in nobody's hands. `over_at` is when it was finished, or
    called off. Commission and client are the owner's alone.
    """

    id: int
    name: str
    size: str
    state: str
    commission_id: int
    commission: str
    client: str
    wanted_on: date
    start_by: date
    planned_ms: int
    left_ms: int
    joined: bool
    over_at: datetime | None
    next_step: NextStep | None
    hands: tuple[str, ...] = ()
    on_shelf: bool = False

    @property
    def done_fraction(self) -> float:
        """How much of the planned time is done, from 0 to 1."""
        return 1 - self.left_ms / self.planned_ms if self.planned_ms else 0.0


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which garments a list shows.

    `words` are looked for in the names of the garment and its commission (and of its client, when `clients`).
    `seen_by` are the pieces a stitcher may see: those with a panel in her hands, or offered to them. `held_by` filters
    by whose hands (SHELF: nobody's), `operation` by what the next step is.
    """

    states: tuple[str, ...] = OPEN
    words: str = ""
    clients: bool = False
    seen_by: int | None = None
    held_by: int | None = None
    operation: str = ""


@dataclass(frozen=True, slots=True)
class After:
    """The last row of the page before: where the next one begins."""

    moment: date | datetime
    id: int


@while_unchanged
def open_garments(
    db: Reading, wanted: Wanted, after: After | None = None, limit: int | None = PAGE
) -> tuple[list[Standing], bool]:
    """Garments planned and in work, those that must be begun first before the others; and whether there are more."""
    return _page(db, is_wanted(wanted), _Order(col(Garment.start_by), after), limit)


@while_unchanged
def garments_over(
    db: Reading, wanted: Wanted, after: After | None = None, limit: int | None = PAGE
) -> tuple[list[Standing], bool]:
    """Garments finished, delivered or called off (one of these in `wanted.states`), the latest first."""
    moment = col(Garment.called_off_at) if wanted.states == ("called off",) else col(Garment.finished_at)
    return _page(db, is_wanted(wanted), _Order(moment, after, latest_first=True), limit)


@while_unchanged
def one_garment(db: Reading, garment_id: int) -> Standing | None:
    """One garment as the lists show it."""
    found, _ = _page(db, [col(Garment.id) == garment_id], _Order(col(Garment.start_by)), 1)
    return found[0] if found else None


def is_seen_by(db: Reading | Writing, garment_id: int, stitcher_id: int | None) -> bool:
    """Whether anything of this garment is in this stitcher's hands, or offered to them."""
    if stitcher_id is None:
        return False
    mine = select(col(Panel.id)).where(col(Panel.garment_id) == garment_id, col(Panel.holder_id) == stitcher_id)
    offered = garments_offered_to(stitcher_id).where(col(Handover.garment_id) == garment_id)
    return any(db.execute(found.limit(1)).first() is not None for found in (mine, offered))


@while_unchanged
def next_operations(db: Reading, wanted: Wanted) -> list[str]:
    """The operations that garments wait for, for a filter to offer."""
    found = select(col(Step.operation)).join(Garment, col(Garment.next_step_id) == Step.id).where(*is_wanted(wanted))
    return list(db.execute(found.distinct().order_by(col(Step.operation))).scalars())


@dataclass(frozen=True, slots=True)
class _Order:
    moment: Any
    after: After | None = None
    latest_first: bool = False

    def apply(self, found: Select[Any]) -> Select[Any]:
        number: Any = col(Garment.id)
        if self.after is not None:
            here = tuple_(self.moment, number)
            there = tuple_(literal(self.after.moment, self.moment.type), literal(self.after.id, number.type))
            found = found.where(here < there if self.latest_first else here > there)
        return self.sort(found)

    def sort(self, found: Select[Any]) -> Select[Any]:
        number = col(Garment.id)
        if self.latest_first:
            return found.order_by(self.moment.desc(), number.desc())
        return found.order_by(self.moment, number)


def is_wanted(wanted: Wanted) -> list[ColumnElement[bool]]:
    """The conditions that the garments asked for fulfil."""
    where: list[ColumnElement[bool]] = [col(Garment.state).in_(wanted.states)]
    if wanted.words.strip():
        where.append(is_named(wanted.words, clients=wanted.clients))
    if wanted.seen_by is not None:
        held = _held(col(Panel.holder_id) == wanted.seen_by)
        where.append(or_(held, col(Garment.id).in_(garments_offered_to(wanted.seen_by))))
    if wanted.held_by is not None:
        holder = col(Panel.holder_id)
        where.append(_held(holder.is_(None) if wanted.held_by == SHELF else holder == wanted.held_by))
    if wanted.operation:
        step = select(col(Step.id)).where(col(Step.id) == Garment.next_step_id)
        where.append(step.where(col(Step.operation) == wanted.operation).correlate(Garment).exists())
    return where


def is_named(typed: str, *, clients: bool) -> ColumnElement[bool]:
    """Whether a garment and its commission are called by these words, and its client where `clients` are looked at."""
    return and_(true(), *(_is_called(word, clients=clients) for word in words_of(typed)))


def _is_called(word: str, *, clients: bool) -> ColumnElement[bool]:
    names = [Commission.title, *([Client.name] if clients else [])]
    commission = select(col(Commission.id)).join(Client, col(Commission.client_id) == Client.id)
    of_its_own = (col(Commission.id) == Garment.commission_id, holding(word, *names))
    return or_(holding(word, Garment.name), commission.where(*of_its_own).correlate(Garment).exists())


def _held(holder: ColumnElement[bool]) -> ColumnElement[bool]:
    return col(Garment.id).in_(select(col(Panel.garment_id)).where(holder))


_GARMENT = (Garment.id, Garment.name, Garment.size, Garment.state, Garment.commission_id, Garment.wanted_on)
_SUMMARY = (Garment.start_by, Garment.planned_ms, Garment.left_ms, Garment.joined_at, Garment.finished_at)
_STEP = (Step.operation, Step.unit, Step.quantity_tenths, Step.done_tenths, Step.section_id)
_SHOWN: tuple[Any, ...] = (
    *_GARMENT,
    *_SUMMARY,
    Garment.called_off_at,
    col(Commission.title).label("commission"),
    col(Client.name).label("client"),
    col(Step.id).label("step_id"),
    *_STEP,
    col(Section.name).label("section"),
    col(Panel.name).label("panel"),
)


def _page(
    db: Reading, where: Sequence[ColumnElement[bool]], order: _Order, limit: int | None
) -> tuple[list[Standing], bool]:
    numbers = order.apply(select(col(Garment.id)).where(*where)).limit(None if limit is None else limit + 1)
    found = (
        select(*_SHOWN)
        .select_from(Garment)
        .join(Commission, col(Garment.commission_id) == Commission.id)
        .join(Client, col(Commission.client_id) == Client.id)
        .outerjoin(Step, col(Garment.next_step_id) == Step.id)
        .outerjoin(Section, col(Step.section_id) == Section.id)
        .outerjoin(Panel, col(Step.panel_id) == Panel.id)
        .where(col(Garment.id).in_(numbers))
    )
    rows = [_standing(row) for row in db.execute(order.sort(found))]
    held = _hands(db, numbers)
    shown = rows if limit is None else rows[:limit]
    return [_with_hands(row, held.get(row.id, ())) for row in shown], len(rows) > len(shown)


def _standing(row: Any) -> Standing:
    return Standing(
        id=row.id,
        name=row.name,
        size=row.size,
        state=row.state,
        commission_id=row.commission_id,
        commission=row.commission,
        client=row.client,
        wanted_on=row.wanted_on,
        start_by=row.start_by,
        planned_ms=row.planned_ms,
        left_ms=row.left_ms,
        joined=row.joined_at is not None,
        over_at=row.called_off_at or row.finished_at,
        next_step=None if row.step_id is None else _next_step(row),
    )


def _next_step(row: Any) -> NextStep:
    return NextStep(
        id=row.step_id,
        operation=row.operation,
        unit=row.unit,
        quantity_tenths=row.quantity_tenths,
        done_tenths=row.done_tenths,
        section=row.section or "",
        panel=row.panel or "",
        section_id=row.section_id,
    )


def _hands(db: Reading, garments: Select[Any]) -> dict[int, tuple[str | None, ...]]:
    found = (
        select(col(Panel.garment_id), col(Stitcher.name))
        .outerjoin(Stitcher, col(Panel.holder_id) == Stitcher.id)
        .where(col(Panel.garment_id).in_(garments))
        .order_by(col(Panel.garment_id), col(Panel.position))
    )
    held: dict[int, tuple[str | None, ...]] = {}
    for garment_id, name in db.execute(found):
        held[garment_id] = (*held.get(garment_id, ()), name)
    return held


def _with_hands(row: Standing, holders: tuple[str | None, ...]) -> Standing:
    names = dict.fromkeys(name for name in holders if name is not None)
    return replace(row, hands=tuple(names), on_shelf=None in holders)
