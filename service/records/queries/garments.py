"""One garment's panels, sections and steps, in their order."""

from dataclasses import dataclass

from sqlmodel import col, select

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
    held = db.exec(
        select(Panel.id, Stitcher.name)
        .join(Stitcher, col(Panel.holder_id) == Stitcher.id)
        .where(Panel.garment_id == garment_id)
    )
    panels = select(Panel).where(Panel.garment_id == garment_id).order_by(col(Panel.position))
    sections = select(Section).where(Section.garment_id == garment_id).order_by(col(Section.position))
    steps = select(Step).where(Step.garment_id == garment_id).order_by(col(Step.position))
    return Parts(tuple(db.exec(panels)), tuple(db.exec(sections)), tuple(db.exec(steps)), dict(held.all()))
