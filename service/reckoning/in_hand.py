"""A step as it lies in the hand: the pass being worked, the number reached in it, and what a needleful more makes.

A ladder is knotted along one edge and then the other: the bundle that is reached is counted along its own edge.
"""

import math
from collections.abc import Sequence
from itertools import accumulate

from service.reckoning.asked import Wrong, above_zero, not_below
from service.reckoning.operations import operation_named
from service.reckoning.thread import LONGEST_NEEDLEFUL_MM, TAILS_MM
from service.reckoning.thread_rates import THREAD_RATES

DUST = 1e-9


def fitted(passes: Sequence[float], quantity: float) -> tuple[float, ...]:
    """Return the passes with their last made longer or shorter, so that together they are all of the step.

    `passes` and `quantity` are in the step's unit. A pass that would be left with nothing is left out.

    >>> fitted((66, 66), 134), fitted((66, 66), 66), fitted((), 12.5)
    ((66, 68), (66,), (12.5,))
    """
    not_below("quantity", quantity)
    starts = accumulate(passes, initial=0)
    before = [whole for start, whole in zip(starts, passes, strict=False) if start < quantity - DUST][:-1]
    return (*before, quantity - sum(before))


def pass_in_hand(passes: Sequence[float], done: float) -> tuple[int, float]:
    """Return which pass is being worked, and how much of it is done, when `done` of all is.

    All in the step's unit, passes counted from 0; more than all counts as the last. Raises Wrong for no passes.

    >>> pass_in_hand((66, 66), 70), pass_in_hand((66, 66), 66), pass_in_hand((66, 66), 132)
    ((1, 4), (1, 0), (1, 66))
    """
    left = not_below("done", done)
    for place, whole in enumerate(passes):
        if left < whole - DUST or place == len(passes) - 1:
            return place, left
        left -= whole
    raise Wrong("passes", "name at least one")


def counted_to(passes: Sequence[float], done: float, reached: float) -> float:
    """Return what must be counted so that `reached` of the pass in hand is done.

    Raises Wrong when that number is done already or beyond the pass's end.

    >>> counted_to((66, 66), 70, 20)
    16
    """
    place, done_of_it = pass_in_hand(passes, done)
    whole = passes[place]
    if reached > whole + DUST:
        raise Wrong("reached", f"must be at most {whole:g}, which is the end")
    if reached <= done_of_it + DUST:
        raise Wrong("reached", f"must be more than {done_of_it:g}, which are done")
    return reached - done_of_it


def units_in_needleful(operation: str, width_mm: float | None = None) -> int | None:
    """Return how many whole units the longest needleful works, its tails lost; None where that says nothing.

    `width_mm` is the width of one unit, as in `service.reckoning.thread`: it says nothing of an operation without
    thread, or worked with one uncut length. At least 1. Raises Wrong for an unknown operation.

    >>> units_in_needleful("hem_knot", 2.0), units_in_needleful("clip"), units_in_needleful("pair_knot", 4.0)
    (37, None, None)
    """
    operation_named(operation)
    rate = THREAD_RATES.get(operation)
    if rate is None or rate.uncut:
        return None
    each_mm = rate.per_unit_mm(None if width_mm is None else above_zero("width_mm", width_mm))
    if each_mm <= 0:
        return None
    return max(1, math.floor((LONGEST_NEEDLEFUL_MM - TAILS_MM) / each_mm))
