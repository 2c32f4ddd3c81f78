"""One garment's panels, sections and steps, in their order."""

from dataclasses import dataclass
from functools import cache
from typing import Any

from sqlalchemy import bindparam, select
from sqlmodel import col

from service.records.db import Reading, Writing
from service.records.tables import Panel, Section, Step, Stitcher


@dataclass(frozen=True, slots=True)
class Parts:
    """What a garment is made of; `holders` names who holds each panel, by its number."""

    panels: tuple[Panel, ...]
    sections: tuple[Section, ...]
    steps: tuple[Step, ...]
    holders: dict[int | None, str]

    def own_steps(self, panel: Panel) -> list[Step]:
        """A panel's own steps, before and after its sections."""
        return [step for step in self.steps if step.panel_id == panel.id and step.section_id is None]

    def steps_of(self, section: Section) -> list[Step]:
        """A section's steps."""
        return [step for step in self.steps if step.section_id == section.id]

    def sections_on(self, panel: Panel) -> list[Section]:
        """The sections that a panel owns."""
        return [section for section in self.sections if section.owner == "panel" and section.panel_id == panel.id]

    @property
    def joined_sections(self) -> list[Section]:
        """The sections that the joined garment owns."""
        return [section for section in self.sections if section.owner == "garment"]


def parts_of(db: Reading | Writing, garment_id: int) -> Parts:
    """All parts of a garment."""
    asked, (panels, sections, steps) = {"garment_id": garment_id}, _statements()
    held = db.execute(panels, asked).all()
    return Parts(
        tuple(panel for panel, _ in held),
        tuple(db.execute(sections, asked).scalars()),
        tuple(db.execute(steps, asked).scalars()),
        {panel.id: name for panel, name in held if name is not None},
    )


@cache
def _statements() -> tuple[Any, ...]:
    number: Any = bindparam("garment_id")
    held = select(Panel, col(Stitcher.name)).outerjoin(Stitcher, col(Panel.holder_id) == Stitcher.id)
    return (
        held.where(col(Panel.garment_id) == number).order_by(col(Panel.position)),
        select(Section).where(col(Section.garment_id) == number).order_by(col(Section.position)),
        select(Step).where(col(Step.garment_id) == number).order_by(col(Step.position)),
    )
