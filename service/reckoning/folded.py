"""Cloth to buy when it is cut folded along the warp, selvedge to selvedge: two layers at one cut."""

from collections import defaultdict, deque
from collections.abc import Iterator
from dataclasses import replace
from itertools import accumulate

from service.reckoning.blocks import Block
from service.reckoning.layout import ClothAsk, ClothPlan, PlacedBlock, cut_um, placed, plan_of, um, usable_um
from service.reckoning.packing import Laid, Size, Skyline, least_length, length_of, pack

Named = tuple[Size, str]
Pair = tuple[str, bool]  # a block's name, and whether its second layer is one too many


def plan_folded(ask: ClothAsk) -> ClothPlan:
    """Return the layout on folded cloth: each block cut twice at once, half blocks with their edge on the fold.

    An odd copy leaves a spare block, marked so and counted as waste. Placements are on the cloth opened out.
    Raises Wrong as `plan_cloth` does, for half the width.

    >>> plan_folded(ClothAsk((Block("sleeve", 200, 300, copies=2),), cloth_width_mm=400)).length_mm
    300.0
    """
    usable = usable_um(ask) // 2
    cut = [(cut_um(ask, place, usable, opened=False), block) for place, block in enumerate(ask.blocks)]
    at_fold = sorted(
        ((size, block.name) for size, block in cut if block.on_fold for _ in range(block.copies)),
        reverse=True,
    )
    pairs: dict[Size, deque[Pair]] = defaultdict(deque)
    for size, block in cut:
        pairs[size].extend(() if block.on_fold else _pairs(block))
    sizes = [size for size, waiting in pairs.items() for _ in waiting]
    stacked, laid = _stack(at_fold, usable), pack(sizes, usable, _skyline(at_fold, usable))
    doubled = [(one, pairs[one.width, one.height].popleft()) for one in laid]
    placements = (*_opened(stacked, at_fold, um(ask.selvedge_mm)), *_both_layers(doubled, usable, um(ask.selvedge_mm)))
    least = least_length([size for size, _ in at_fold] + sizes, usable)
    return plan_of(ask, placements, length_of([*stacked, *laid]), least)


def _pairs(block: Block) -> list[Pair]:
    return [(block.name, False)] * (block.copies // 2) + [(block.name, True)] * (block.copies % 2)


def _opened(stacked: list[Laid], at_fold: list[Named], edge: int) -> Iterator[PlacedBlock]:
    for one, (_, name) in zip(stacked, at_fold, strict=True):
        yield placed(name, replace(one, width=2 * one.width), edge)


def _both_layers(doubled: list[tuple[Laid, Pair]], usable: int, edge: int) -> Iterator[PlacedBlock]:
    for one, (name, spare) in doubled:
        yield placed(name, one, edge)
        yield placed(name, replace(one, x=2 * usable - one.x - one.width), edge, spare=spare)


def _stack(at_fold: list[Named], usable: int) -> list[Laid]:
    """Stack the half blocks along the fold, widest first, so that no gap is closed in behind them."""
    starts = accumulate((along for (_, along), _ in at_fold), initial=0)
    return [Laid(usable - across, y, across, along) for ((across, along), _), y in zip(at_fold, starts, strict=False)]


def _skyline(at_fold: list[Named], usable: int) -> Skyline:
    """Return what the stack leaves open: a step for each width, higher towards the fold."""
    widths = [usable, *(across for (across, _), _ in at_fold), 0]
    ends = accumulate((along for (_, along), _ in at_fold), initial=0)
    steps = zip(widths, widths[1:], ends, strict=False)
    return [(end, usable - wider, wider - narrower) for wider, narrower, end in steps if wider > narrower]
