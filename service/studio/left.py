"""What is left: units and hours by step, section, panel, garment and commission, by the guesses kept with each step."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, select
from sqlmodel import col

from service.records.db import Reading, Writing
from service.records.queries.garments import Parts
from service.records.tables import Garment, Section, Step
from service.studio.lines import milliseconds


@dataclass(frozen=True, slots=True)
class Units:
    """So many tenths of a unit of one operation left, of so many planned, and the time they may take."""

    operation: str
    unit: str
    planned_tenths: int
    left_tenths: int
    left_ms: int


@dataclass(frozen=True, slots=True)
class Left:
    """What is left of something: its time, and its units operation by operation, in the order of the work."""

    planned_ms: int
    left_ms: int
    units: tuple[Units, ...]

    @property
    def done_fraction(self) -> float:
        """How much of the planned time is done, from 0 to 1."""
        return 1 - self.left_ms / self.planned_ms if self.planned_ms else 0.0


@dataclass(frozen=True, slots=True)
class LeftBy:
    """What is left of a garment, and of each part of it by its number.

    A panel has its own steps and its own sections; `joined` is what belongs to the joined garment.
    """

    garment: Left
    joined: Left
    panels: dict[int, Left]
    sections: dict[int, Left]
    steps: dict[int, Left]


@dataclass(frozen=True, slots=True)
class _Part:
    """One step: what it is part of, and what is left of it."""

    step_id: int
    garment_id: int
    panel_id: int | None
    section_id: int | None
    joined: bool
    planned_ms: int
    units: Units


def left_by(whole: Parts) -> LeftBy:
    """What is left of a garment by its parts."""
    joined = {section.id for section in whole.joined_sections}
    parts = [_part(step, joined=step.section_id in joined) for step in whole.steps]
    return LeftBy(
        garment=_left(parts),
        joined=_left(part for part in parts if part.joined),
        panels=_by((part for part in parts if not part.joined), lambda part: part.panel_id),
        sections=_by(parts, lambda part: part.section_id),
        steps=_by(parts, lambda part: part.step_id),
    )


def left_of_commission(db: Reading | Writing, commission_id: int) -> tuple[Left, dict[int, Left]]:
    """What is left of a commission's garments, those called off left out, and of each of them by its number."""
    is_wanted = (col(Garment.commission_id) == commission_id) & (col(Garment.state) != "called off")
    parts = _parts(db, is_wanted)
    return _left(parts), _by(parts, lambda part: part.garment_id)


def _parts(db: Reading | Writing, where: ColumnElement[bool]) -> list[_Part]:
    found = (
        select(*_READ)
        .select_from(Step)
        .join(Garment, col(Step.garment_id) == Garment.id)
        .outerjoin(Section, col(Step.section_id) == Section.id)
        .where(where)
        .order_by(col(Step.garment_id), col(Step.position))
    )
    return [_part(row, joined=row.owner == "garment") for row in db.execute(found)]


_READ: tuple[Any, ...] = (
    *(Step.id, Step.garment_id, Step.panel_id, Step.section_id, Section.owner),
    *(Step.operation, Step.unit, Step.quantity_tenths, Step.done_tenths, Step.unit_ms),
)


def _part(row: Any, *, joined: bool) -> _Part:
    left = row.quantity_tenths - row.done_tenths
    return _Part(
        step_id=row.id,
        garment_id=row.garment_id,
        panel_id=row.panel_id,
        section_id=row.section_id,
        joined=joined,
        planned_ms=milliseconds(row.quantity_tenths, row.unit_ms),
        units=Units(row.operation, row.unit, row.quantity_tenths, left, milliseconds(left, row.unit_ms)),
    )


def _by(parts: Iterable[_Part], key: Callable[[_Part], int | None]) -> dict[int, Left]:
    groups: dict[int, list[_Part]] = {}
    for part in parts:
        if (number := key(part)) is not None:
            groups.setdefault(number, []).append(part)
    return {number: _left(group) for number, group in groups.items()}


def _left(parts: Iterable[_Part]) -> Left:
    parts = list(parts)
    units: dict[str, Units] = {}
    for part in parts:
        more, before = part.units, units.get(part.units.operation)
        units[more.operation] = more if before is None else _together(before, more)
    return Left(
        planned_ms=sum(part.planned_ms for part in parts),
        left_ms=sum(part.units.left_ms for part in parts),
        units=tuple(units.values()),
    )


def _together(one: Units, other: Units) -> Units:
    return Units(
        one.operation,
        one.unit,
        one.planned_tenths + other.planned_tenths,
        one.left_tenths + other.left_tenths,
        one.left_ms + other.left_ms,
    )
