"""Blocks of cloth to cut: a panel's pattern and all that is added to it before cutting."""

from dataclasses import dataclass

from service.reckoning.asked import above_zero, finite, not_below
from service.reckoning.shapes import Point


@dataclass(frozen=True, slots=True)
class Block:
    """A rectangle of cloth to cut, in mm as wanted after shrinking; `copies` of it.

    `on_fold`: the width is half the block's, laid with its edge on a fold and opened out to twice the width.
    """

    name: str
    width_mm: float
    height_mm: float
    copies: int = 1
    on_fold: bool = False


@dataclass(frozen=True, slots=True)
class PanelNeeds:
    """What a panel's block must hold, in mm: the pattern's outline and all that is added to it before cutting.

    `across_mm` and `down_mm` are the facings, hems and take-up of tucks that widen and lengthen it;
    `hoop_margin_mm` is kept free on all four sides.
    """

    name: str
    outline: tuple[Point, ...]
    copies: int = 1
    across_mm: tuple[float, ...] = ()
    down_mm: tuple[float, ...] = ()
    hoop_margin_mm: float = 0


def block_of(needs: PanelNeeds) -> Block:
    """Return the block for a panel: the outline's extent, facings, hems and tuck take-up, and the hoop margin.

    Raises Wrong for an outline without extent or a negative allowance.

    >>> block_of(PanelNeeds("front", ((0, 0), (300, 0), (280, 400)), down_mm=(120, 60), hoop_margin_mm=20))
    Block(name='front', width_mm=340, height_mm=620, copies=1, on_fold=False)
    """
    across = above_zero("outline", _extent([x for x, _ in needs.outline]))
    down = above_zero("outline", _extent([y for _, y in needs.outline]))
    margin = 2 * not_below("hoop_margin_mm", needs.hoop_margin_mm)
    width = across + sum(not_below("across_mm", more) for more in needs.across_mm) + margin
    height = down + sum(not_below("down_mm", more) for more in needs.down_mm) + margin
    return Block(needs.name, width, height, needs.copies)


def _extent(places: list[float]) -> float:
    known = [finite("outline", place) for place in places]
    return max(known) - min(known) if known else 0.0
