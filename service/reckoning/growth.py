"""Growth tucks: plain tucks above a hem, to be let out one by one as the child grows."""

import math
from dataclasses import dataclass
from typing import Literal

from service.reckoning.asked import Wrong, above_zero
from service.reckoning.tucks import LONGEST_MM, MOST_THREADS_PER_CM, MOST_TUCKS


@dataclass(frozen=True, slots=True)
class GrowthAsk:
    """Tucks that together let a skirt down by at least `let_down_mm`, none deeper than `deepest_mm`.

    `above_hem_mm` is from the finished hem's edge up to the lowest tuck's seam line; `spacing_mm`, seam line to
    seam line on the finished skirt, is twice the depth when left out: a space as deep as a tuck stays between each
    fold and the seam line below it. `threads_per_cm` counts the threads that
    run along the hem.
    """

    let_down_mm: float
    deepest_mm: float
    threads_per_cm: float
    above_hem_mm: float
    spacing_mm: float | None = None


@dataclass(frozen=True, slots=True)
class GrowthLine:
    """One line on the flat skirt, measured and counted up from the finished hem's edge; tuck 1 is the lowest."""

    line: Literal["seam", "fold"]
    tuck: int
    from_hem_mm: float
    from_hem_threads: int


@dataclass(frozen=True, slots=True)
class GrowthPlan:
    """The tucks, their take-up (cut the skirt that much longer), and how far each one let out lowers the hem.

    `lets_down_mm` has one length a tuck: with one let out, with two, and so on.
    """

    tucks: int
    depth_mm: float
    depth_threads: int
    take_up_mm: float
    lets_down_mm: tuple[float, ...]
    lines: tuple[GrowthLine, ...]
    notes: tuple[str, ...]


def plan_growth_tucks(ask: GrowthAsk) -> GrowthPlan:
    """Return the fewest equal tucks, each of whole threads, that let the skirt down by what is asked.

    A tuck let out gives back its take-up, twice its depth (Baldt, Clothing for Women, 1916, ch. XXII). Raises Wrong
    when the lowest fold would hang past the hem, or a tuck is deeper than half the spacing.

    >>> plan = plan_growth_tucks(GrowthAsk(50, 10, 20, above_hem_mm=60))
    >>> plan.tucks, plan.depth_threads, plan.depth_mm, plan.lets_down_mm
    (3, 17, 8.5, (17.0, 34.0, 51.0))
    """
    threads_per_mm = above_zero("threads_per_cm", ask.threads_per_cm, MOST_THREADS_PER_CM) / 10
    tucks, depth = _tucks_and_depth(ask, threads_per_mm)
    spacing = _spacing_threads(ask, depth, threads_per_mm)
    first = _threads_up(above_zero("above_hem_mm", ask.above_hem_mm, LONGEST_MM), threads_per_mm)
    if first < depth:
        raise Wrong("above_hem_mm", f"must be at least a tuck's depth ({depth / threads_per_mm:g} mm)")
    each = 2 * depth
    seams = [first + tuck * (spacing + each) for tuck in range(tucks)]
    return GrowthPlan(
        tucks=tucks,
        depth_mm=depth / threads_per_mm,
        depth_threads=depth,
        take_up_mm=tucks * each / threads_per_mm,
        lets_down_mm=tuple(tuck * each / threads_per_mm for tuck in range(1, tucks + 1)),
        lines=_lines(seams, depth, threads_per_mm),
        notes=_NOTES,
    )


_NOTES = (
    "Sew growth tucks plain, in running stitches: a drawn strip leaves its opening behind when the tuck is let out.",
    "Let the lowest tuck out first, wash and press: an old fold can show (common practice, no source).",
)


def _tucks_and_depth(ask: GrowthAsk, threads_per_mm: float) -> tuple[int, int]:
    let_down = above_zero("let_down_mm", ask.let_down_mm, LONGEST_MM) * threads_per_mm
    deepest = math.floor(above_zero("deepest_mm", ask.deepest_mm, LONGEST_MM) * threads_per_mm + 1e-9)
    if deepest < 1:
        raise Wrong("deepest_mm", f"is less than one thread at {ask.threads_per_cm:g} threads per cm")
    tucks = math.ceil(let_down / (2 * deepest) - 1e-9)
    if tucks > MOST_TUCKS:
        raise Wrong("deepest_mm", f"would need {tucks} tucks: make them deeper")
    return tucks, math.ceil(let_down / (2 * tucks) - 1e-9)


def _spacing_threads(ask: GrowthAsk, depth: int, threads_per_mm: float) -> int:
    if ask.spacing_mm is None:
        return 2 * depth
    spacing = _threads_up(above_zero("spacing_mm", ask.spacing_mm, LONGEST_MM), threads_per_mm)
    if spacing < 2 * depth:
        raise Wrong("spacing_mm", f"must be at least twice a tuck's depth ({depth / threads_per_mm:g} mm)")
    return spacing


def _threads_up(length_mm: float, threads_per_mm: float) -> int:
    return math.ceil(length_mm * threads_per_mm - 1e-9)


def _lines(seams: list[int], depth: int, threads_per_mm: float) -> tuple[GrowthLine, ...]:
    offsets: tuple[tuple[Literal["seam", "fold"], int], ...] = (
        ("seam", 0),
        ("fold", depth),
        ("seam", 2 * depth),
    )
    return tuple(
        GrowthLine(line, tuck, (seam + offset) / threads_per_mm, seam + offset)
        for tuck, seam in enumerate(seams, start=1)
        for line, offset in offsets
    )
