"""A step moved on, or back: never below nothing, and past its quantity only when the cloth had more."""

from collections.abc import Mapping, Sequence
from typing import Protocol

from service.errors import Conflict
from service.studio.lines import Line

ONCE = ("panel", "section")  # units of work that is done once and cannot turn out to be more
Amounts = Mapping[int, tuple[int, int]]
"""The quantity and what is done of it, in tenths, by the place of the step."""


class Numbered(Protocol):
    """Whatever has the number of a step."""

    @property
    def id(self) -> int | None:
        """Its number."""


def moved(
    lines: Sequence[Line], place: int, change: int, *, more_on_cloth: bool = False, unpicked: bool = False
) -> Amounts:
    """The amounts that change when a step is moved on, or back, whether unpicked or taken back as a wrong entry."""
    line = lines[place]
    after = line.done_tenths + change
    if after < 0:
        raise Conflict(_too_little_done(line, "unpicked" if unpicked else "taken back"))
    if after <= line.quantity_tenths:
        return {place: (line.quantity_tenths, after)}
    _check_more(line, more_on_cloth=more_on_cloth)
    return {place: (after, after), **_freed_by(lines, place, after)}


def as_moved(lines: Sequence[Line], amounts: Amounts) -> list[Line]:
    """The lines as they are then."""
    then = list(lines)
    for place, (quantity_tenths, done_tenths) in amounts.items():
        then[place] = lines[place].as_far_as(quantity_tenths, done_tenths)
    return then


def _too_little_done(line: Line, act: str) -> str:
    done = f"{line.done_tenths / 10:g}{' cm' if line.unit == 'cm' else ''}"
    return f"Only {done} {'is' if line.done_tenths == 10 else 'are'} done, so no more than that can be {act}."


def _check_more(line: Line, *, more_on_cloth: bool) -> None:
    if line.unit in ONCE:
        raise Conflict(f"This is done once for the {line.unit}, and it is done.")
    if not more_on_cloth:
        left = (line.quantity_tenths - line.done_tenths) / 10
        raise Conflict(
            f"Only {left:g} of {line.quantity_tenths / 10:g}{' cm' if line.unit == 'cm' else ''} were left to do. "
            "Did the cloth have more? "
            "Say so, or correct the number."
        )


def _freed_by(lines: Sequence[Line], place: int, clipped_tenths: int) -> dict[int, tuple[int, int]]:
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


def place_of(lines: Sequence[Line], step: Numbered) -> int:
    """Where in the garment's order a step stands."""
    return next(place for place, line in enumerate(lines) if line.id == step.id)
