"""Where the garments stand, over JSON. A stitcher sees the pieces in her hands; never a price, a client, a contact."""

from datetime import date
from typing import Any

from fastapi import APIRouter
from pydantic import BaseModel

from service.errors import NotFound
from service.reckoning.hours_left import HoursLeft
from service.records.queries.garments import Parts, parts_of
from service.records.queries.standing import Standing, Wanted, is_seen_by, one_garment, open_garments
from service.records.tables import Panel, Section, Step
from service.studio.diary import PieceDays
from service.studio.next_step import as_hers
from service.studio.sign_in import Person
from service.web.deps import Id, Reads, SignedIn
from service.web.foreseeing import PlanHere
from service.web.learning import LearningHere

REFUSALS: dict[int | str, dict[str, Any]] = {401: {"description": "Nobody is signed in."}}
UNKNOWN = {**REFUSALS, 404: {"description": "There is no such garment, or none that this person may see."}}
router = APIRouter(prefix="/api", tags=["standing"])


class HoursLeftOut(BaseModel):
    """Hours left by the studio's own paces, not exceeded with a chance of 50 % and of 80 %."""

    p50: float
    p80: float


class NextStepOut(BaseModel):
    """The first step that whoever asks may work on now; `section` and `panel` are names, empty where there is none."""

    id: int
    operation: str
    unit: str
    left: float
    section: str
    panel: str


class StandingOut(BaseModel):
    """One open garment. `done_fraction` is by hours; `hands` names who holds it, panels on the shelf left out.

    `expected` is the likely day by the diary's plan of all open garments, and `chance_in_time` that it is kept; null
    where nothing is foreseen: nobody has hours for it, or hundreds of pieces are wanted before it.
    """

    id: int
    name: str
    state: str
    done_fraction: float
    hours_left: HoursLeftOut
    ready_by: date
    expected: date | None
    chance_in_time: float | None
    hands: list[str]
    next_step: NextStepOut | None


class StepLine(BaseModel):
    """One step and how far it is."""

    id: int
    operation: str
    unit: str
    quantity: float
    done: float


class SectionLine(BaseModel):
    """One section with its counts on this cloth, null where its kind has none, and its steps."""

    id: int
    key: str
    name: str
    kind: str
    withdrawn_threads: int | None
    standing_threads: int | None
    bundle_threads: int | None
    bundles: int | None
    steps: list[StepLine]


class PanelLine(BaseModel):
    """One panel: in whose hands (null on the shelf), its own steps, the sections it owns."""

    id: int
    key: str
    name: str
    side: str
    hands: str | None
    steps: list[StepLine]
    sections: list[SectionLine]


class GarmentOut(StandingOut):
    """A garment; `sections` are those of the joined garment, worked once its panels are cut out and joined."""

    size: str
    joined: bool
    panels: list[PanelLine]
    sections: list[SectionLine]


@router.get("/standing", responses=REFUSALS)
def standing(person: SignedIn, db: Reads, learning: LearningHere, plan: PlanHere) -> list[StandingOut]:
    """Every open garment, those that must be begun first before the others."""
    found, _ = open_garments(db, Wanted(seen_by=seen_by(person)), limit=None)
    left = learning.hours_left(db, [row.id for row in found])
    hers = as_hers(db, person, found)
    return [StandingOut(**_told(row, left[row.id], plan.days_of(row.id))) for row in hers]


@router.get("/garments/{garment_id}", responses=UNKNOWN)
def garment(person: SignedIn, db: Reads, learning: LearningHere, plan: PlanHere, garment_id: Id) -> GarmentOut:
    """One garment with its panels, sections and steps."""
    row = one_garment(db, garment_id)
    if row is None or not (person.is_owner or is_seen_by(db, garment_id, person.stitcher_id)):
        raise NotFound("There is no such garment among those you may see.")
    parts, left = parts_of(db, garment_id), learning.hours_left(db, [garment_id])[garment_id]
    (hers,) = as_hers(db, person, [row])
    return GarmentOut(
        **_told(hers, left, plan.days_of(garment_id)),
        size=row.size,
        joined=row.joined,
        panels=[_panel(panel, parts) for panel in parts.panels],
        sections=[_section(section, parts) for section in parts.joined_sections],
    )


def seen_by(person: Person) -> int | None:
    """Whose pieces alone this person may see; None for the owner, who sees all."""
    return None if person.is_owner else person.stitcher_id


def _told(row: Standing, left: HoursLeft, days: PieceDays) -> dict[str, Any]:
    return {
        "id": row.id,
        "name": row.name,
        "state": row.state,
        "done_fraction": row.done_fraction,
        "hours_left": {"p50": left.at(50), "p80": left.at(80)},
        "ready_by": row.wanted_on,
        "expected": days.likely,
        "chance_in_time": days.chance,
        "hands": list(row.hands),
        "next_step": _next_step(row),
    }


def _next_step(row: Standing) -> dict[str, Any] | None:
    if (step := row.next_step) is None:
        return None
    left = (step.quantity_tenths - step.done_tenths) / 10
    named = {"id": step.id, "operation": step.operation, "unit": step.unit}
    return {**named, "left": left, "section": step.section, "panel": step.panel}


def _panel(panel: Panel, parts: Parts) -> PanelLine:
    assert panel.id is not None
    return PanelLine(
        id=panel.id,
        key=panel.key,
        name=panel.name,
        side=panel.side,
        hands=parts.holders.get(panel.id),
        steps=[_step(step) for step in parts.own_steps(panel)],
        sections=[_section(section, parts) for section in parts.sections_on(panel)],
    )


def _section(section: Section, parts: Parts) -> SectionLine:
    steps = [_step(step) for step in parts.steps_of(section)]
    return SectionLine(**section.model_dump(include=SECTION_FIELDS), steps=steps)


SECTION_FIELDS = set(SectionLine.model_fields) - {"steps"}


def _step(step: Step) -> StepLine:
    assert step.id is not None
    quantity, done = step.quantity_tenths / 10, step.done_tenths / 10
    return StepLine(id=step.id, operation=step.operation, unit=step.unit, quantity=quantity, done=done)
