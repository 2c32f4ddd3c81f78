"""The cloth left standing between sections: it is carried to another cloth like everything else."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from service.reckoning.counts import threads_in, width_of
from service.reckoning.designs import Direction, Edge

DUST_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Covered:
    """What one section covers on a panel as drawn up: from `near_mm` inside its edge to `far_mm`, along `span`."""

    section: str
    direction: Direction
    edge: Edge
    near_mm: float
    far_mm: float
    span: tuple[float, float] = (-math.inf, math.inf)


@dataclass(frozen=True, slots=True)
class Space:
    """The cloth between the section `first` (empty: the outline's edge) and the section after it, in mm."""

    first: str
    second: Covered
    width_mm: float


def spaces_between(covered: Iterable[Covered]) -> tuple[Space, ...]:
    """Return, edge by edge and from the edge inwards, the space before every section.

    A section follows the nearest one from the same edge that lies wholly before it, somewhere along its length.

    >>> hem, band = Covered("hem", "across", "bottom", 40, 43), Covered("band", "across", "bottom", 55, 64)
    >>> [(space.first, space.width_mm) for space in spaces_between([band, hem])]
    [('', 40), ('hem', 12)]
    """
    known = tuple(covered)
    edges = sorted({(one.direction, one.edge) for one in known})
    found = []
    for direction, edge in edges:
        row = sorted(
            (one for one in known if (one.direction, one.edge) == (direction, edge)), key=lambda one: one.near_mm
        )
        found += [_space_before(one, row[:at]) for at, one in enumerate(row)]
    return tuple(found)


def carried_distances(
    spaces: Iterable[Space], reach_mm: dict[str, float], threads_per_cm: dict[Direction, float]
) -> dict[str, float]:
    """Return how far inside its edge each section lies once every space is whole threads of this cloth.

    `reach_mm` is what each section covers on this cloth; `threads_per_cm` the threads that lie along a strip
    running in that direction.

    >>> hem, band = Covered("hem", "across", "bottom", 40, 43), Covered("band", "across", "bottom", 55, 64)
    >>> carried_distances(spaces_between([hem, band]), {"hem": 3, "band": 9}, {"across": 15})["band"]
    55.0
    """
    distances: dict[str, float] = {}
    for space in spaces:
        per_cm = threads_per_cm[space.second.direction]
        before_mm = distances[space.first] + reach_mm[space.first] if space.first else 0.0
        distances[space.second.section] = before_mm + width_of(threads_in(space.width_mm, per_cm), per_cm)
    return distances


def _space_before(one: Covered, nearer: list[Covered]) -> Space:
    before = [
        other
        for other in nearer
        if other.far_mm <= one.near_mm + DUST_MM and min(one.span[1], other.span[1]) > max(one.span[0], other.span[0])
    ]
    nearest = max(before, key=lambda other: other.far_mm, default=None)
    if nearest is None:
        return Space("", one, one.near_mm)
    return Space(nearest.section, one, max(0.0, one.near_mm - nearest.far_mm))
