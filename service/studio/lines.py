"""The steps of garments as they are reckoned with: amounts, times, and the state that the gates see.

Times are whole milliseconds: an amount in tenths times the milliseconds of a unit, divided by ten, half up.
"""

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Any

from sqlalchemy import bindparam, select
from sqlmodel import SQLModel

import service.records.tables  # noqa: F401 (makes the tables known)
from service.reckoning.gates import Owner, StepState
from service.records.db import Reading, Writing
from service.records.queries.garments import Parts

LEAST_LENGTH_CM = 0.1


def milliseconds(amount_tenths: int, unit_ms: int) -> int:
    """The guessed time of so much work, half up.

    >>> milliseconds(15, 20_000)
    30000
    """
    return (amount_tenths * unit_ms + 5) // 10


@dataclass(frozen=True, slots=True)
class Line:
    """One step as it is reckoned with: amounts in tenths of its unit, and how the gates see it."""

    id: int
    unit: str
    quantity_tenths: int
    done_tenths: int
    unit_ms: int
    state: StepState
    panel_id: int | None = None

    @property
    def left_ms(self) -> int:
        """The guessed time of what is left of it."""
        return milliseconds(self.quantity_tenths - self.done_tenths, self.unit_ms)

    @property
    def planned_ms(self) -> int:
        """The guessed time of all of it."""
        return milliseconds(self.quantity_tenths, self.unit_ms)

    @property
    def least(self) -> float:
        """The least that can be counted of what is left."""
        return min(LEAST_LENGTH_CM if self.unit == "cm" else 1.0, (self.quantity_tenths - self.done_tenths) / 10)

    def as_far_as(self, quantity_tenths: int, done_tenths: int) -> "Line":
        """The same step with other amounts."""
        state = replace(self.state, quantity=quantity_tenths / 10, done=done_tenths / 10)
        return replace(self, quantity_tenths=quantity_tenths, done_tenths=done_tenths, state=state)


def lines_of(db: Reading | Writing, garment_id: int) -> list[Line]:
    """All steps of a garment in the order in which it is worked, as they are in the database."""
    return lines_from(db.connection().execute(_OF_GARMENT, {"garment_id": garment_id}))


def lines_of_parts(parts: Parts) -> list[Line]:
    """The same of a garment whose parts are at hand."""
    panels = {panel.id: panel.name for panel in parts.panels}
    sections = {section.id: (section.owner, section.name) for section in parts.sections}
    rows = []
    for step in parts.steps:
        owner, section = sections.get(step.section_id, (None, None))
        amounts = (step.unit, step.quantity_tenths, step.done_tenths, step.unit_ms)
        place = (owner, step.panel_id, panels.get(step.panel_id), step.section_id, section)
        rows.append((step.id, step.garment_id, step.position, step.operation, *amounts, *place))
    return lines_from(rows)


def every_line(db: Reading | Writing, garment_ids: Collection[int] | None = None) -> Iterator[tuple[int, list[Line]]]:
    """The steps of every garment, or of these, garment by garment."""
    asked = STEPS if garment_ids is None else STEPS.where(_STEP.garment_id.in_(garment_ids))
    rows = db.connection().execute(asked.order_by(_STEP.garment_id, _STEP.position))
    for garment_id, steps in groupby(rows, lambda row: int(row.garment_id)):
        yield garment_id, lines_from(steps)


_TABLES = SQLModel.metadata.tables
_STEP, _SECTION, _PANEL = (_TABLES[name].c for name in ("step", "section", "panel"))
# built once, and without the records' own classes: every count reads all steps of its garment
STEPS = (
    select(
        *(_STEP.id, _STEP.garment_id, _STEP.position, _STEP.operation, _STEP.unit),
        *(_STEP.quantity_tenths, _STEP.done_tenths, _STEP.unit_ms, _SECTION.owner),
        *(_STEP.panel_id, _PANEL.name.label("panel"), _STEP.section_id, _SECTION.name.label("section")),
    )
    .select_from(_TABLES["step"])
    .outerjoin(_TABLES["panel"], _STEP.panel_id == _PANEL.id)
    .outerjoin(_TABLES["section"], _STEP.section_id == _SECTION.id)
)
WIDTH = len(STEPS.selected_columns)
_OF_GARMENT = STEPS.where(_STEP.garment_id == bindparam("garment_id")).order_by(_STEP.position)


def lines_from(rows: Iterable[Any]) -> list[Line]:
    """The lines of one garment from rows that begin with the columns of STEPS."""
    steps = [row[:WIDTH] for row in rows]
    panels = _told_apart({step[-4]: (step[-3], "") for step in steps})
    sections = _told_apart({step[-2]: (step[-1], panels[step[-4]]) for step in steps})
    return [_line(step, panels[step[-4]], sections[step[-2]]) for step in steps]


def _told_apart(parts: Mapping[int | None, tuple[str | None, str | None]]) -> dict[int | None, str | None]:
    """Names for refusals to use, each the name of one part only: by its panel or number where two are alike."""
    alike = Counter(name for name, _ in parts.values())
    if len(alike) == len(parts):
        return {None: None, **{number: name for number, (name, _) in parts.items()}}
    pairs = Counter(parts.values())
    found: dict[int | None, str | None] = {None: None}
    for number, (name, panel) in parts.items():
        if name is None or alike[name] == 1:
            found[number] = name
        elif panel and pairs[name, panel] == 1:
            found[number] = f"{name} ({panel})"
        else:
            found[number] = f"{name} (no. {number})"
    return found


def _line(step: Sequence[Any], panel: str | None, section: str | None) -> Line:
    number, _, position, operation, unit, quantity_tenths, done_tenths, unit_ms, owner = step[:9]
    of: Owner = "panel" if section is None else ("garment" if owner == "garment" else "section")
    state = StepState(operation, quantity_tenths / 10, done_tenths / 10, position, of, section, panel)
    return Line(number, unit, quantity_tenths, done_tenths, unit_ms, state, step[-4])
