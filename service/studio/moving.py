"""A step moved on, or back: never below nothing, and past its quantity only when the cloth had more."""

from service.errors import Conflict
from service.records.db import Writing
from service.records.tables import Step
from service.studio.lines import Line

ONCE = ("panel", "section")  # units of work that is done once and cannot turn out to be more


def move(
    db: Writing, lines: list[Line], step: Step, change: int, *, more_on_cloth: bool = False, unpicked: bool = False
) -> list[Line]:
    """Move a step on, or back, whether unpicked or taken back as a wrong entry; the lines as they are then."""
    after = step.done_tenths + change
    if after < 0:
        raise Conflict(_too_little_done(step, "unpicked" if unpicked else "taken back"))
    place = place_of(lines, step)
    moved = {place: (step.quantity_tenths, after)}
    if after > step.quantity_tenths:
        _check_more(step, more_on_cloth=more_on_cloth)
        moved = {place: (after, after), **_freed_by(lines, place, after)}
    for where, (quantity_tenths, done_tenths) in moved.items():
        row = db.get_one(Step, lines[where].id)
        row.quantity_tenths, row.done_tenths = quantity_tenths, done_tenths
        db.add(row)
    return [line.as_far_as(*moved[where]) if where in moved else line for where, line in enumerate(lines)]


def _too_little_done(step: Step, act: str) -> str:
    done = f"{step.done_tenths / 10:g}{' cm' if step.unit == 'cm' else ''}"
    return f"Only {done} {'is' if step.done_tenths == 10 else 'are'} done, so no more than that can be {act}."


def _check_more(step: Step, *, more_on_cloth: bool) -> None:
    if step.unit in ONCE:
        raise Conflict(f"This is done once for the {step.unit}, and it is done.")
    if not more_on_cloth:
        left = (step.quantity_tenths - step.done_tenths) / 10
        raise Conflict(
            f"Only {left:g} of {step.quantity_tenths / 10:g} were left to do. Did the cloth have more? "
            "Say so, or correct the number."
        )


def _freed_by(lines: list[Line], place: int, clipped_tenths: int) -> dict[int, tuple[int, int]]:
    """More threads clipped than planned are more threads to withdraw, so that a thread keeps its clips."""
    clip = lines[place]
    if clip.state.operation != "clip":
        return {}
    for where, line in enumerate(lines):
        if line.state.operation == "withdraw" and line.state.section == clip.state.section and line.quantity_tenths:
            clips_each = max(1, round(clip.quantity_tenths / line.quantity_tenths))
            threads = -(-clipped_tenths // (10 * clips_each))
            return {where: (max(line.quantity_tenths, threads * 10), line.done_tenths)}
    return {}


def place_of(lines: list[Line], step: Step) -> int:
    """Where in the garment's order a step stands."""
    return next(place for place, line in enumerate(lines) if line.id == step.id)
