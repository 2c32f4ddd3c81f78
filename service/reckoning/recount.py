"""A band recounted while it is worked: the cloth is as it was, only the count was wrong."""

from dataclasses import dataclass

from service.reckoning.asked import not_below
from service.reckoning.operations import operation_named

DUST = 1e-6  # a length counted in tenths of a cm may carry float dust


@dataclass(frozen=True, slots=True)
class Requantified:
    """A step's quantity after a recount, in its unit; `too_far` is how much of what is done must be undone first."""

    quantity: float
    too_far: float = 0.0


def requantified(operation: str, *, quantity: float, done: float, planned: float) -> Requantified:
    """Return a step's quantity once its band is planned on the new count.

    `quantity` and `done` are as before, `planned` is what the new count comes to. A length that is finished stays
    finished, because the cloth has not grown; what cannot be undone stays as it was done; anything else that is
    done beyond the new quantity must be undone first. All are in the operation's unit; raises Wrong for an unknown one.

    >>> requantified("ladder_knot", quantity=198, done=120, planned=194)
    Requantified(quantity=194, too_far=0.0)
    >>> requantified("ladder_knot", quantity=198, done=198, planned=194)
    Requantified(quantity=194, too_far=4)
    >>> requantified("clip", quantity=18, done=18, planned=17).quantity
    18
    >>> requantified("mark", quantity=40.5, done=40.5, planned=40.9).quantity
    40.5
    """
    work = operation_named(operation)
    not_below("quantity", quantity)
    not_below("planned", planned)
    is_length = work.unit == "cm"
    finished = not_below("done", done) > 0 and done >= quantity - DUST
    if is_length and finished:
        return Requantified(done)
    if done <= planned + DUST:
        return Requantified(planned)
    if is_length or work.cannot_be_undone:
        return Requantified(done)
    return Requantified(planned, done - planned)
