"""Where along a bound edge the centre front lies: joins of bias are kept away from it."""

from collections.abc import Iterator, Mapping
from itertools import pairwise
from math import dist

from service.reckoning.designs import PanelDesign, SectionDesign
from service.reckoning.outlines import length_of, line_along, outline_points
from service.reckoning.shapes import Point

UNEVEN_MM = 1.0  # an outline drawn by hand may be so much wider on one side


def centre_front_mm(section: SectionDesign, panels: Mapping[str, PanelDesign]) -> tuple[float, ...]:
    """Return how far along the section's edge, its panels in turn, each crossing of the centre front lies, in mm.

    The centre front is the middle of the block of a front panel that reaches to both sides of it; of a front in two
    halves it is where the edge ends, and no join lies there. Panels and sections are as drawn up.
    """
    found, before = [], 0.0
    for placement in section.placements:
        panel = panels.get(placement.panel)
        if panel is None or not placement.along:
            continue
        outline = outline_points(panel)
        line = line_along(outline, placement.along)
        if panel.side == "front" and _goes_round(outline, panel.block_width_mm / 2):
            found += [before + at for at in _crossings(line, panel.block_width_mm / 2)]
        before += length_of(line)
    return tuple(found)


def _goes_round(outline: tuple[Point, ...], middle_mm: float) -> bool:
    """Whether the panel is as wide on both sides of its block's middle, as a front in one piece is."""
    left, right = min(x for x, _ in outline), max(x for x, _ in outline)
    return abs((middle_mm - left) - (right - middle_mm)) <= UNEVEN_MM


def _crossings(line: tuple[Point, ...], middle_mm: float) -> Iterator[float]:
    walked = 0.0
    for first, second in pairwise(line):
        step = dist(first, second)
        if (first[0] < middle_mm) != (second[0] < middle_mm):
            yield walked + step * (middle_mm - first[0]) / (second[0] - first[0])
        walked += step
