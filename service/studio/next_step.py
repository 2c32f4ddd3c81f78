"""What comes next for whoever asks: the first step that is not done, is in order, and is hers to do."""

from collections.abc import Sequence

from sqlmodel import select

from service.reckoning.gates import held_by, refusal
from service.records.db import Reading, Writing
from service.records.tables import Garment, Panel, Step
from service.studio.lines import Line, lines_of
from service.studio.sign_in import Person


def next_step_for(db: Reading | Writing, person: Person, garment: Garment, after: int | None = None) -> Line | None:
    """The first step this person can work on now, those after step `after` before the others; None when there is none.

    The owner may work on anything, a stitcher on what is in her hands.
    """
    assert garment.id is not None
    lines = lines_of(db, garment.id)
    hers = _hers(db, person, garment)
    start = next((place + 1 for place, line in enumerate(lines) if line.id == after), 0)
    order = [*range(start, len(lines)), *range(start)]
    return next((lines[place] for place in order if lines[place].id in hers and may_begin(lines, place)), None)


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


def _hers(db: Reading | Writing, person: Person, garment: Garment) -> set[int | None]:
    steps = db.exec(select(Step.id, Step.panel_id).where(Step.garment_id == garment.id)).all()
    if person.is_owner or (garment.joined_at is not None and garment.holder_id == person.stitcher_id):
        return {step_id for step_id, _ in steps}
    if garment.joined_at is not None or person.stitcher_id is None:
        return set()
    held = select(Panel.id).where(Panel.garment_id == garment.id, Panel.holder_id == person.stitcher_id)
    panels = set(db.exec(held))
    return {step_id for step_id, panel_id in steps if panel_id is not None and panel_id in panels}
