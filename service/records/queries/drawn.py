"""What the drawings of garments are made from: panels and sections with how much of them is done."""

from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

from sqlalchemy import case, func, select
from sqlmodel import col

from service.reckoning.gates import KNOTS
from service.records.db import Reading, Writing
from service.records.queries.garments import Parts
from service.records.tables import Panel, Section, Step
from service.records.unchanged import while_unchanged


class PanelRow(NamedTuple):
    """A panel's columns that a drawing needs."""

    garment_id: int
    key: str
    name: str
    side: str
    outline: str
    block_width_um: int
    block_height_um: int
    at_x_um: int
    at_y_um: int


class SectionRow(NamedTuple):
    """A section's columns that a drawing needs; `done` and `whole` are its knots, or its time where it has none."""

    garment_id: int
    id: int
    key: str
    name: str
    kind: str
    direction: str | None
    bundles: int | None
    places: str
    side_worked: str
    work_direction: str
    done: int
    whole: int


class DrawnRows(NamedTuple):
    """One garment's panels and sections, in their order."""

    panels: tuple[PanelRow, ...]
    sections: tuple[SectionRow, ...]


def drawn_rows(db: Reading | Writing, garment_ids: Iterable[int]) -> dict[int, DrawnRows]:
    """The rows of these garments' drawings, by garment, in two queries however many they are."""
    return _drawn_rows(db, tuple(garment_ids))


def drawn_of(parts: Parts) -> DrawnRows:
    """The same rows of a garment whose parts are at hand."""
    steps: dict[int | None, list[Step]] = {}
    for step in parts.steps:
        steps.setdefault(step.section_id, []).append(step)
    sections = (
        SectionRow._make([*(getattr(it, name) for name in SectionRow._fields[:-2]), *_done_of(steps.get(it.id, ()))])
        for it in parts.sections
    )
    panels = (PanelRow._make(getattr(it, name) for name in PanelRow._fields) for it in parts.panels)
    return DrawnRows(tuple(panels), tuple(sections))


def _done_of(steps: Sequence[Step]) -> tuple[int, int]:
    knots = [step for step in steps if step.operation in KNOTS]
    if whole := sum(step.quantity_tenths for step in knots):
        return sum(step.done_tenths for step in knots), whole
    done = sum(step.done_tenths * step.unit_ms for step in steps)
    return done, sum(step.quantity_tenths * step.unit_ms for step in steps)


@while_unchanged
def _drawn_rows(db: Reading | Writing, ids: tuple[int, ...]) -> dict[int, DrawnRows]:
    panels = select(*(getattr(Panel, name) for name in PanelRow._fields)).where(col(Panel.garment_id).in_(ids))
    drawn: dict[int, tuple[list[PanelRow], list[SectionRow]]] = {garment_id: ([], []) for garment_id in ids}
    for row in db.execute(panels.order_by(col(Panel.garment_id), col(Panel.position))):
        drawn[row.garment_id][0].append(PanelRow(*row))
    for row in db.execute(_sections(ids)):
        drawn[row.garment_id][1].append(_section(row))
    return {number: DrawnRows(tuple(own), tuple(sections)) for number, (own, sections) in drawn.items()}


def _section(row: Any) -> SectionRow:
    # A sum is a Decimal on PostgreSQL.
    return SectionRow(*row)._replace(done=int(row.done), whole=int(row.whole))


def _sections(garment_ids: Sequence[int]) -> Any:
    """The sections with what is done of each: of its knots where it has any, else of its time."""
    is_knot = col(Step.operation).in_(sorted(KNOTS))
    unit = case((is_knot, 1), else_=0)
    sums = (
        select(
            col(Step.section_id).label("section_id"),
            func.sum(unit * col(Step.done_tenths)).label("knots_done"),
            func.sum(unit * col(Step.quantity_tenths)).label("knots"),
            func.sum(col(Step.done_tenths) * col(Step.unit_ms)).label("time_done"),
            func.sum(col(Step.quantity_tenths) * col(Step.unit_ms)).label("time"),
        )
        .where(col(Step.garment_id).in_(garment_ids), col(Step.section_id).is_not(None))
        .group_by(col(Step.section_id))
        .subquery()
    )
    has_knots = func.coalesce(sums.c.knots, 0) > 0
    columns = [getattr(Section, name) for name in SectionRow._fields[:-2]]
    return (
        select(
            *columns,
            case((has_knots, sums.c.knots_done), else_=func.coalesce(sums.c.time_done, 0)).label("done"),
            case((has_knots, sums.c.knots), else_=func.coalesce(sums.c.time, 0)).label("whole"),
        )
        .outerjoin(sums, sums.c.section_id == Section.id)
        .where(col(Section.garment_id).in_(garment_ids))
        .order_by(col(Section.garment_id), col(Section.position))
    )
