"""Hours to quote: what is likely, what is promised, what is the worst to plan for, and each garment's share."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from service.reckoning.asked import Wrong, finite
from service.reckoning.draws import Drawn
from service.reckoning.forecast import drawn_hours
from service.reckoning.hours import Line, Stretch, share_near
from service.reckoning.track_record import widened

Array = NDArray[np.float64]

WORST_CHANCE = 0.9


@dataclass(frozen=True, slots=True)
class QuotedHours:
    """Hours of the work on several garments together, not exceeded with a chance of one half, the one asked, 90 %.

    `shares` are each garment's part of the quoted hours: quantiles do not add up, these do (Euler's rule).
    """

    likely: float
    quoted: float
    worst: float
    shares: Mapping[int, float]


@dataclass(frozen=True, slots=True)
class ChangedHours:
    """Quoted hours of the work left before and after an alteration, on the same draws."""

    before: float
    after: float


def hours_to_quote(
    drawn: Drawn, work: Mapping[int, Sequence[Stretch]], chance: float, kappa: float = 1.0
) -> QuotedHours:
    """Return the hours to quote for these garments, by number; what is left of each is its stretches.

    All garments share the draws, so that what they have in common is not averaged away; `kappa` is the widening that
    the studio's own record asks for. Raises Wrong for a chance outside 0.5 to 0.9.
    """
    by_garment = _hours(drawn, work)
    total = widened(by_garment.sum(axis=0), kappa)
    likely, quoted, worst = (_not_exceeded(total, one) for one in (0.5, _checked(chance), WORST_CHANCE))
    shares = share_near(by_garment, chance)
    scale = quoted / float(shares.sum()) if shares.sum() else 0.0
    return QuotedHours(likely, quoted, worst, dict(zip(work, (float(each) * scale for each in shares), strict=True)))


def hours_changed(
    drawn: Drawn,
    before: Mapping[int, Sequence[Stretch]],
    after: Mapping[int, Sequence[Stretch]],
    chance: float,
    kappa: float = 1.0,
) -> ChangedHours:
    """Return the quoted hours of the work left without and with a change, on the same draws.

    `before` and `after` are what is left of each garment, by its number; chance, `kappa` and errors as in
    `hours_to_quote`.
    """
    found = [
        _not_exceeded(widened(_hours(drawn, work).sum(axis=0), kappa), _checked(chance)) for work in (before, after)
    ]
    return ChangedHours(*found)


def with_more(stretches: Sequence[Stretch], changes: Sequence[Line]) -> list[Stretch]:
    """Return what is left of a garment with so much more of some operations, less where a quantity is negative.

    More is added to the first line of that operation, else it is a line of its own; less is taken from its lines in
    turn. Raises Wrong, naming the operation, when more is taken away than is left.

    >>> left = [Stretch("1 ", (Line("whip_bias", 140.0, 20.0),))]
    >>> [line.quantity for each in with_more(left, [Line("whip_bias", -80.0)]) for line in each.lines]
    [60.0]
    """
    found = list(stretches)
    for change in changes:
        if change.quantity >= 0:
            found = _added(found, change)
        else:
            found = _taken_away(found, change.operation, -change.quantity)
    return found


def _hours(drawn: Drawn, work: Mapping[int, Sequence[Stretch]]) -> Array:
    """The hours of every garment in every draw (garments, draws)."""
    stretches = [stretch for each in work.values() for stretch in each]
    hours = drawn_hours(drawn, stretches)
    owners = np.repeat(np.arange(len(work)), [len(each) for each in work.values()])
    found = np.zeros((max(1, len(work)), drawn.draws))
    np.add.at(found, owners, hours)
    return found[: len(work)]


def _not_exceeded(total: Array, chance: float) -> float:
    return float(np.quantile(total, chance)) if total.size else 0.0


def _checked(chance: float) -> float:
    if not 0.5 <= finite("chance", chance) <= WORST_CHANCE:
        raise Wrong("chance", f"must lie from 0.5 to {WORST_CHANCE:g}, not {chance:g}")
    return chance


def _added(stretches: list[Stretch], change: Line) -> list[Stretch]:
    for at, stretch in enumerate(stretches):
        for place, line in enumerate(stretch.lines):
            if line.operation == change.operation:
                more = replace(line, quantity=line.quantity + change.quantity)
                lines = (*stretch.lines[:place], more, *stretch.lines[place + 1 :])
                return [*stretches[:at], stretch._replace(lines=lines), *stretches[at + 1 :]]
    if not stretches:
        raise Wrong(change.operation, "has no garment to be added to")
    return [stretches[0]._replace(lines=(*stretches[0].lines, change)), *stretches[1:]]


def _taken_away(stretches: list[Stretch], operation: str, amount: float) -> list[Stretch]:
    found = []
    for stretch in stretches:
        lines = []
        for line in stretch.lines:
            less = min(amount, line.quantity) if line.operation == operation else 0.0
            amount -= less
            lines.append(replace(line, quantity=line.quantity - less))
        found.append(stretch._replace(lines=tuple(lines)))
    if amount > 1e-9:
        raise Wrong(operation, f"{amount:g} more are taken away than are left")
    return found
