"""What comes next for whoever asks: the first step that is not done, is in order, and is hers to do."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace

from sqlmodel import col, select

from service.reckoning.gates import held_by, refusal
from service.records.db import Reading, Writing
from service.records.queries.garments import Parts
from service.records.queries.standing import NextStep, Standing
from service.records.tables import Garment, Panel, Step
from service.studio.lines import Line, every_line, lines_of_parts
from service.studio.sign_in import Person


def next_step_for(
    db: Reading | Writing, person: Person, garment: Garment, lines: Sequence[Line], after: int | None
) -> Line | None:
    """The first step this person can work on now, those after step `after` before the others; None when there is none.

    The owner may work on anything, a stitcher on what is in her hands.
    """
    panels = () if person.is_owner else tuple(db.exec(select(Panel).where(Panel.garment_id == garment.id)))
    return _first(lines, _is_hers(person, garment, panels), after)


def next_step_among(parts: Parts, person: Person, garment: Garment) -> Line | None:
    """The same for a garment whose parts are at hand."""
    return _first(lines_of_parts(parts), _is_hers(person, garment, parts.panels))


def as_hers(db: Reading, person: Person, pieces: Sequence[Standing]) -> list[Standing]:
    """The pieces, each with the next step that this person may work on: a stitcher's is among what is in her hands."""
    numbers = [piece.id for piece in pieces if piece.next_step is not None]
    if person.is_owner or not numbers:
        return list(pieces)
    panels: dict[int, list[Panel]] = defaultdict(list)
    for panel in db.exec(select(Panel).where(col(Panel.garment_id).in_(numbers))):
        panels[panel.garment_id].append(panel)
    lines = dict(every_line(db, numbers))
    found = {
        garment.id: _first(lines[garment.id or 0], _is_hers(person, garment, panels[garment.id or 0]))
        for garment in db.exec(select(Garment).where(col(Garment.id).in_(numbers)))
    }
    steps = [line.id for line in found.values() if line is not None]
    sections = dict(db.exec(select(Step.id, Step.section_id).where(col(Step.id).in_(steps))).all())
    return [replace(piece, next_step=_told(found.get(piece.id), sections)) for piece in pieces]


def _told(line: Line | None, sections: Mapping[int | None, int | None]) -> NextStep | None:
    if line is None:
        return None
    amounts = (line.unit, line.quantity_tenths, line.done_tenths)
    place = (line.state.section or "", line.state.panel or "", sections[line.id])
    return NextStep(line.id, line.state.operation, *amounts, *place)


def _first(lines: Sequence[Line], is_hers: Callable[[Line], bool], after: int | None = None) -> Line | None:
    start = next((place + 1 for place, line in enumerate(lines) if line.id == after), 0)
    order = [*range(start, len(lines)), *range(start)]
    return next((lines[place] for place in order if is_hers(lines[place]) and may_begin(lines, place)), None)


def may_begin(lines: Sequence[Line], place: int) -> bool:
    """Whether anything is left of that step and the order of work lets it be counted now."""
    line = lines[place]
    return _is_open(line) and refusal([each.state for each in lines], place, line.least) is None


def held_up_by(lines: Sequence[Line], place: int) -> Line | None:
    """The step that must be further before anything of that one may be counted; None when none must."""
    line = lines[place]
    if line.done_tenths >= line.quantity_tenths:
        return None
    found = held_by([each.state for each in lines], place, line.least)
    return None if found is None else lines[found]


def usually_first(lines: Sequence[Line], place: int) -> Line | None:
    """The first earlier step of the same section, or of the panel itself, that is not complete, asked for or not."""
    return next((line for line in lines[:place] if _are_of_one(line, lines[place]) and _is_open(line)), None)


def next_of_section(lines: Sequence[Line], place: int) -> Line | None:
    """The next step of its section, or on its panel for a panel's own step, that is not complete; this need not be."""
    here = lines[place].state
    for line in lines[place + 1 :]:
        is_same_panel = here.panel is not None and line.state.panel == here.panel
        if _is_open(line) and (is_same_panel if here.section is None else line.state.section == here.section):
            return line
    return None


def _are_of_one(one: Line, other: Line) -> bool:
    ours, theirs = one.state, other.state
    if ours.section is not None or theirs.section is not None:
        return ours.section == theirs.section
    return ours.panel is not None and ours.panel == theirs.panel


def _is_open(line: Line) -> bool:
    return line.done_tenths < line.quantity_tenths


def _is_hers(person: Person, garment: Garment, panels: Iterable[Panel]) -> Callable[[Line], bool]:
    if person.is_owner or (garment.joined_at is not None and garment.holder_id == person.stitcher_id):
        return lambda _: True
    if garment.joined_at is not None or person.stitcher_id is None:
        return lambda _: False
    held = {panel.id for panel in panels if panel.holder_id == person.stitcher_id}
    return lambda line: line.panel_id is not None and line.panel_id in held
