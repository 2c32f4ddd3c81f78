"""What a step of marking or folding tells of its lines: on which thread each lies, as the marking sheet does."""

from service.languages.spoken import said
from service.reckoning.marking import MarkLine
from service.records.db import Reading, Writing
from service.records.tables import Studio
from service.studio.sign_in import Person
from service.web.marking_sheet import marked_on
from service.web.reckoner_making import source_of
from service.web.step_words import Work, drawn_section
from service.web.words import fine


def facts_of_lines(db: Reading | Writing, person: Person, work: Work) -> list[tuple[str, str]]:
    """The lines to mark in a section by thread and measure; how deep a tuck is that is folded; nothing else."""
    if work.section is None or work.step.operation not in {"mark", "baste"}:
        return []
    studio = db.get_one(Studio, 1)
    if work.step.operation == "baste":
        drawn = drawn_section(work.garment.document, work.section.key)
        depth_mm = None if drawn is None else drawn.depth_mm
        return [] if depth_mm is None else [("Depth of the tuck", fine(depth_mm, studio.length_unit))]
    source = source_of(db, person, str(work.garment.id), studio)
    assert source
    return [
        (f"{said('Line')} {line.number}, {panel.name}", _where(line, studio.length_unit))
        for panel in source.parts.panels
        for line in marked_on(source, panel).lines
        if line.section == work.section.key
    ]


def _where(line: MarkLine, unit: str) -> str:
    at = fine(round(line.at_mm, 1), unit)
    if line.direction == "across":
        return f"on thread {line.at_thread} from the top edge of the block, {at}"
    return f"on thread {line.at_thread} from the left edge of the block, {at}"
