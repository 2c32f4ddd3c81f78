"""What can be promised for a sum: which openwork to leave out so that a garment comes to no more, losing least of it.

Only bands of a single layer can be left out without another stitch: ladders, serpentines and bands knotted by turns.
A hem or a tuck has to be sewn whether it is drawn or not. A band and its mirror stay together. How much openwork a
band is counts by its area.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from itertools import combinations

from service.reckoning.band_kinds import BAND_KINDS
from service.reckoning.plans import GarmentPlan, SectionPlan

CAN_BE_LEFT_OUT = ("ladder", "ladder_paired", "serpentine", "alternating")
MOST_BANDS = 10  # the smallest so many: a thousand ways to leave some out
MOST_TRIED = 6
NEARLY = 1.01


@dataclass(frozen=True, slots=True)
class Openwork:
    """A band with its mirrors: their keys, its name, the area withdrawn and the guessed seconds of all together."""

    keys: tuple[str, ...]
    name: str
    area_mm2: float
    seconds: float


@dataclass(frozen=True, slots=True)
class LeftOut:
    """What is left out, and what the garment comes to then."""

    bands: tuple[Openwork, ...]
    total: int

    @property
    def area_mm2(self) -> float:
        """The openwork lost."""
        return sum(band.area_mm2 for band in self.bands)


def openwork_mm2(plan: GarmentPlan) -> float:
    """Return the area of all that is withdrawn, hems and tucks too."""
    return sum(_area(section) for section in plan.sections)


def bands_to_leave_out(plan: GarmentPlan) -> tuple[Openwork, ...]:
    """Return the bands that can be left out, the smallest first; of many the smallest ten."""
    found: dict[str, list[SectionPlan]] = {}
    for section in plan.sections:
        if section.kind in CAN_BE_LEFT_OUT:
            found.setdefault(section.mirror_of or section.key, []).append(section)
    bands = [
        Openwork(
            tuple(each.key for each in alike),
            alike[0].name,
            sum(_area(each) for each in alike),
            sum(each.after.seconds for each in alike),
        )
        for alike in found.values()
    ]
    return tuple(sorted(bands, key=lambda band: (band.area_mm2, band.keys))[:MOST_BANDS])


def ways_to_leave_out(bands: Iterable[Openwork]) -> tuple[tuple[Openwork, ...], ...]:
    """Return every choice of these bands, the one that loses least openwork first; of equals the one of fewer bands.

    >>> small, large = Openwork(("a",), "A", 10, 60), Openwork(("b",), "B", 25, 90)
    >>> ["".join(band.name for band in way) for way in ways_to_leave_out([large, small])]
    ['', 'A', 'B', 'BA']
    """
    each = tuple(bands)
    ways = [way for many in range(len(each) + 1) for way in combinations(each, many)]
    return tuple(sorted(ways, key=lambda way: (sum(band.area_mm2 for band in way), len(way))))


def without(plan: GarmentPlan, bands: Iterable[Openwork]) -> GarmentPlan:
    """Return the plan without these bands."""
    gone = {key for band in bands for key in band.keys}
    return replace(plan, sections=tuple(section for section in plan.sections if section.key not in gone))


def least_left_out(
    bands: Iterable[Openwork], at_most: int, total_of: Callable[[tuple[Openwork, ...]], int]
) -> LeftOut | None:
    """Return the least openwork to leave out for the total to be at most so much, None when no choice is enough.

    `total_of` reckons what a choice comes to. Between nothing and everything left out it is taken to fall evenly with
    the guessed seconds, to pass over choices that miss by more than one in a hundred; the one returned is reckoned.
    """
    ways = ways_to_leave_out(bands)
    whole = total_of(())
    if whole <= at_most:
        return LeftOut((), whole)
    barest = total_of(ways[-1])
    if barest > at_most:
        return None
    seconds = sum(band.seconds for band in ways[-1])
    tried = 0
    for way in ways[1:-1]:
        saved = sum(band.seconds for band in way) / seconds if seconds else 0.0
        if whole - saved * (whole - barest) > at_most * NEARLY:
            continue
        if (total := total_of(way)) <= at_most:
            return LeftOut(way, total)
        tried += 1
        if tried == MOST_TRIED:
            break
    return LeftOut(ways[-1], barest)


def _area(section: SectionPlan) -> float:
    figures = section.after
    return (figures.width_mm or 0.0) * (figures.length_mm or 0.0) if section.kind in BAND_KINDS else 0.0
