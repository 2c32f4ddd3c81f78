"""What may be counted now: the order of steps that cannot ruin the cloth, as one rule between two steps at a time.

A rule says that a step may only be as far as an earlier one lets it. Counting forward is held by the rules
in which the step is the later one; taking back, by those in which it is the earlier one. So nothing that is
taken back leaves a state that counting forward could not have reached.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from service.reckoning.asked import Wrong, above_zero
from service.reckoning.operations import operation_named

Owner = Literal["panel", "section", "garment"]
TakingBack = Literal["counter", "unpick"]

KNOTS = frozenset({"hem_knot", "ladder_knot", "pair_knot", "alternating_knot", "tuck_knot"})
DUST = 1e-6  # a length counted in tenths of a cm may carry float dust


@dataclass(frozen=True, slots=True)
class StepState:
    """How far one step of a garment is.

    `owner` is "panel" for a panel's own step, "section" for a step of a section on that `panel`, and "garment"
    for a step of a section owned by the joined garment, or of the garment itself; such a step names a `panel`
    when only that panel must be cut out before it.
    """

    operation: str
    quantity: float
    done: float
    position: int
    owner: Owner
    section: str | None = None
    panel: str | None = None

    @property
    def begun(self) -> bool:
        """Whether anything is done."""
        return self.done > DUST

    @property
    def finished(self) -> bool:
        """Whether all of it is done."""
        return self.done >= self.quantity - DUST


def refusal(states: Sequence[StepState], index: int, counted: float) -> str | None:
    """Return why `counted` more units on step `index` are out of order, as a sentence; None when they are in order.

    `states` are all steps of one garment, `counted` is in the step's unit. Whether the quantity is passed is not asked
    here.

    >>> edge = StepState("edge_stitch", 30, 12.4, 0, "section", "hem", "front")
    >>> clip = StepState("clip", 18, 0, 1, "section", "hem", "front")
    >>> refusal([edge, clip], 1, 1)
    'Clip only when the edge stitching is complete: 12.4 of 30 cm done.'
    """
    step = _moved(states, index, above_zero("counted", counted))
    return next((sentence for before in states if (sentence := _ahead(step, before))), None)


def held_by(states: Sequence[StepState], index: int, counted: float) -> int | None:
    """Return the place of the step that `refusal` names: the one to work on first; None when nothing is refused.

    >>> edge = StepState("edge_stitch", 30, 12.4, 0, "section", "hem", "front")
    >>> held_by([edge, StepState("clip", 18, 0, 1, "section", "hem", "front")], 1, 1)
    0
    """
    step = _moved(states, index, above_zero("counted", counted))
    return next((place for place, before in enumerate(states) if _ahead(step, before)), None)


def refusal_to_take_back(states: Sequence[StepState], index: int, counted: float, kind: TakingBack) -> str | None:
    """Return why `counted` units of step `index` cannot be taken back; None when they can.

    A wrong entry (`counter`) can be taken back as long as nothing done since rests on it; work undone (`unpick`)
    also must be work that can be undone. Whether so much is done at all is not asked here.

    >>> clip = StepState("clip", 18, 18, 0, "section", "hem", "front")
    >>> refusal_to_take_back([clip], 0, 1, "unpick")
    'Clipped threads cannot be put back; only a wrong entry can be taken back.'
    """
    if kind not in {"counter", "unpick"}:
        raise Wrong("kind", f"must be counter or unpick, not {kind!r}")
    step = _moved(states, index, -above_zero("counted", counted))
    if kind == "unpick" and operation_named(step.operation).cannot_be_undone:
        return f"{_GONE[step.operation]} cannot be put back; only a wrong entry can be taken back."
    later = next((later for later in states if _ahead(later, step)), None)
    return None if later is None else _resting(later, step)


def overruns(states: Sequence[StepState]) -> tuple[tuple[int, int], ...]:
    """Return the pairs (step, earlier step) by their places in which a step is further than the earlier one lets it.

    Empty for a garment worked in order; counting within `refusal` and `refusal_to_take_back` keeps it so.

    >>> edge = StepState("edge_stitch", 30, 12.4, 0, "section", "hem", "front")
    >>> overruns([edge, StepState("clip", 18, 3, 1, "section", "hem", "front")])
    ((1, 0),)
    """
    return tuple(
        (place, earlier)
        for place, step in enumerate(states)
        if step.begun
        for earlier, before in enumerate(states)
        if _ahead(step, before)
    )


def _moved(states: Sequence[StepState], index: int, counted: float) -> StepState:
    if not 0 <= index < len(states):
        raise Wrong("index", f"must be one of the {len(states)} steps, not {index}")
    return replace(states[index], done=states[index].done + counted)


def _ahead(step: StepState, before: StepState) -> str | None:
    """Why `step` is further than `before` lets it be; None when it is not, or the two have no rule."""
    if not step.begun:
        return None
    if step.section is not None and step.section == before.section:
        return _ahead_in_section(step, before)
    if before.finished:
        return None
    same_panel = step.panel is not None and step.panel == before.panel
    if before.operation == "cut_block" and same_panel and step.operation != "cut_block":
        return "Cut the block off the cloth before anything else on this panel."
    if step.operation == "cut_out" and same_panel and before.owner == "section":
        return (
            f"Cut out only when every section of this panel is complete: {before.section} still wants its "
            f"{_doing(before)}, {_so_far(before)}."
        )
    if step.owner == "garment" and before.operation == "cut_out" and (same_panel or step.panel is None):
        return f"This belongs to the joined garment: cut out {before.panel} first."
    return None


def _ahead_in_section(step: StepState, before: StepState) -> str | None:
    if step.operation == "clip" and before.operation == "edge_stitch" and not before.finished:
        return f"Clip only when the edge stitching is complete: {_so_far(before)}."
    if step.operation == "withdraw" and before.operation == "clip" and step.done > _freed(step, before) + DUST:
        return f"Withdraw only threads that are clipped: {_freed(step, before)} of {step.quantity:g} are clipped free."
    if step.operation in KNOTS and before.operation == "withdraw" and not before.finished:
        return f"Knot only when the withdrawing is complete: {_so_far(before)}."
    return None


def _freed(withdraw: StepState, clip: StepState) -> int:
    """How many threads the clips so far set free: one or two clips a thread, by the stop lines."""
    clips_each = max(1, round(clip.quantity / withdraw.quantity)) if withdraw.quantity else 1
    return math.floor((clip.done + DUST) / clips_each)


def _resting(later: StepState, step: StepState) -> str:
    if later.operation == "withdraw" and step.operation == "clip":
        return f"{later.done:g} threads are withdrawn already: the clips that freed them cannot be taken back."
    where = f" of {later.section}" if later.section not in {None, step.section} else ""
    return f"The {_doing(later)}{where} has begun and rests on this {_doing(step)}, which must stay complete."


def _so_far(step: StepState) -> str:
    return f"{step.done:g} of {step.quantity:g} {_units(step)} done"


def _units(step: StepState) -> str:
    unit = operation_named(step.operation).unit
    return unit if unit == "cm" or step.quantity == 1 else f"{unit}s"


def _doing(step: StepState) -> str:
    return _DOING.get(step.operation, step.operation.replace("_", " "))


_GONE = {
    "cut_block": "A block that is cut off",
    "clip": "Clipped threads",
    "withdraw": "Withdrawn threads",
    "cut_bias": "Bias strips that are cut",
    "cut_out": "A panel that is cut out",
}
_DOING = {
    "cut_block": "cutting of the block",
    "edge_stitch": "edge stitching",
    "clip": "clipping",
    "withdraw": "withdrawing",
    "cut_out": "cutting out",
    "baste": "basting",
    "mark": "marking",
    "hem_knot": "knotting",
    "ladder_knot": "knotting",
    "pair_knot": "knotting of pairs",
    "alternating_knot": "knotting",
    "tuck_knot": "knotting",
    "secure": "securing of the open ends",
}
