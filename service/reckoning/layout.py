"""Cloth to buy: blocks laid on the straight grain across the usable width, as short as can be found.

A block's width lies along the weft, its height along the warp, and it is never turned. Sizes are as wanted
after shrinking; what is laid and cut is larger.
"""

from collections import defaultdict, deque
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from service.reckoning.asked import Wrong, above_zero, not_below, whole
from service.reckoning.blocks import Block
from service.reckoning.findings import Finding
from service.reckoning.packing import Laid, Size, least_length, length_of, pack
from service.reckoning.shrink import MOST_SHRINK_PERCENT, cut_mm

MOST_BLOCKS = 500
MOST_MM = 1e6  # a kilometre of cloth
BUYING_STEP_MM = 100
UM = 1000


@dataclass(frozen=True, slots=True)
class ClothAsk:
    """What to lay on which cloth; `selvedge_mm` is lost at each edge, shrinkage is along the warp and the weft."""

    blocks: tuple[Block, ...]
    cloth_width_mm: float
    selvedge_mm: float = 0
    shrink_warp_percent: float = 0
    shrink_weft_percent: float = 0


@dataclass(frozen=True, slots=True)
class PlacedBlock:
    """A block as cut, where it lies: x from the cloth's left edge, selvedge included, y from the cut end, in mm.

    `spare`: cut with another through two layers, but not asked for.
    """

    name: str
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    spare: bool = False


@dataclass(frozen=True, slots=True)
class ClothPlan:
    """The layout, the length it takes, that length up to the next 100 mm, and the shortest there could be.

    `waste_percent` is what of `length_mm` at the cloth's whole width no block covers.
    """

    length_mm: float
    buy_mm: int
    least_mm: float
    placements: tuple[PlacedBlock, ...]
    waste_percent: float
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class WidthPlan:
    """The plan on one cloth width, or the finding that it is too narrow."""

    cloth_width_mm: float
    plan: ClothPlan | None
    finding: Finding | None


class TooNarrow(Wrong):
    """The cloth is narrower than a block."""


def plan_cloth(ask: ClothAsk) -> ClothPlan:
    """Return the shortest layout found on the single layer, every block opened out and on the straight grain.

    Cut size = size / (1 - shrinkage). Raises Wrong for nonsense, for more than 500 blocks, and for a block wider
    than the cloth's usable width, each at its field.

    >>> plan_cloth(ClothAsk((Block("front", 400, 700, copies=2),), cloth_width_mm=900)).buy_mm
    700
    """
    usable = usable_um(ask)
    names: dict[Size, deque[str]] = defaultdict(deque)
    for place, block in enumerate(ask.blocks):
        size = cut_um(ask, place, usable, opened=True)
        names[size].extend([block.name] * block.copies)
    sizes = [size for size, owners in names.items() for _ in owners]
    laid = pack(sizes, usable)
    placements = tuple(placed(names[one.width, one.height].popleft(), one, um(ask.selvedge_mm)) for one in laid)
    return plan_of(ask, placements, length_of(laid), least_length(sizes, usable))


def compare_widths(ask: ClothAsk, widths_mm: Sequence[float]) -> tuple[WidthPlan, ...]:
    """Return the plan on each of up to four cloth widths; one too narrow for a block is a finding, not a refusal.

    Raises Wrong for no widths or more than four.

    >>> [(one.cloth_width_mm, one.plan is None) for one in compare_widths(
    ...     ClothAsk((Block("skirt", 1000, 700),), cloth_width_mm=900), (900, 1400))]
    [(900, True), (1400, False)]
    """
    if not 1 <= len(widths_mm) <= 4:
        raise Wrong("widths_mm", "compare one to four widths")
    return tuple(_on_width(replace(ask, cloth_width_mm=width)) for width in widths_mm)


def _on_width(ask: ClothAsk) -> WidthPlan:
    try:
        return WidthPlan(ask.cloth_width_mm, plan_cloth(ask), None)
    except TooNarrow as narrow:
        return WidthPlan(ask.cloth_width_mm, None, Finding("too_narrow", narrow.sentence))


def um(length_mm: float) -> int:
    """Return a length in mm to the nearest whole µm.

    >>> um(25.4)
    25400
    """
    return round(length_mm * UM)


def usable_um(ask: ClothAsk) -> int:
    """Return the cloth's width between its selvedges in µm; raises Wrong for anything but the blocks' sizes."""
    _check_copies(ask.blocks)
    not_below("shrink_warp_percent", ask.shrink_warp_percent, at_most=MOST_SHRINK_PERCENT)
    not_below("shrink_weft_percent", ask.shrink_weft_percent, at_most=MOST_SHRINK_PERCENT)
    width = above_zero("cloth_width_mm", ask.cloth_width_mm, MOST_MM)
    usable = um(width) - 2 * um(not_below("selvedge_mm", ask.selvedge_mm, at_most=MOST_MM))
    if usable <= 0:
        sentence = f"two selvedges of {ask.selvedge_mm:g} mm leave nothing of {width:g} mm of cloth"
        raise Wrong("selvedge_mm", sentence)
    return usable


def cut_um(ask: ClothAsk, place: int, usable: int, *, opened: bool) -> Size:
    """Return the size in µm as cut of the block at `place`, a half block opened out or not.

    Raises Wrong at the block's field for a size that is nonsense or wider than `usable`.
    """
    block = ask.blocks[place]
    width = above_zero(f"blocks.{place}.width_mm", block.width_mm, MOST_MM)
    height = above_zero(f"blocks.{place}.height_mm", block.height_mm, MOST_MM)
    across = cut_mm(2 * width if opened and block.on_fold else width, ask.shrink_weft_percent)
    size = max(1, um(across)), max(1, um(cut_mm(height, ask.shrink_warp_percent)))
    if size[0] > usable:
        sentence = (
            f"{block.name!r} is {across:.1f} mm wide as cut, but only {usable / UM:.1f} mm of the cloth can be used: "
            "choose a wider cloth, or make the block of two with a seam"
        )
        raise TooNarrow(f"blocks.{place}.width_mm", sentence)
    return size


def placed(name: str, one: Laid, edge: int, *, spare: bool = False) -> PlacedBlock:
    """Return the laid rectangle in mm, `edge` µm of selvedge added on the left."""
    return PlacedBlock(name, (one.x + edge) / UM, one.y / UM, one.width / UM, one.height / UM, spare)


def plan_of(ask: ClothAsk, placements: tuple[PlacedBlock, ...], length: int, least: int) -> ClothPlan:
    """Return the plan of these placements; `length` and `least` in µm."""
    covered = sum(one.width_mm * one.height_mm for one in placements if not one.spare)
    waste = 100 * (1 - covered / (ask.cloth_width_mm * length / UM))
    bought = -(-length // (BUYING_STEP_MM * UM)) * BUYING_STEP_MM
    findings = (*_shrinkage_findings(ask), *_spare_findings(placements))
    return ClothPlan(length / UM, bought, least / UM, placements, max(0.0, waste), findings)


def _check_copies(blocks: tuple[Block, ...]) -> None:
    if not blocks:
        raise Wrong("blocks", "give at least one block")
    copies = len(blocks)
    if copies <= MOST_BLOCKS:
        copies = sum(whole(f"blocks.{place}.copies", block.copies) for place, block in enumerate(blocks))
    if copies > MOST_BLOCKS:
        sentence = f"at most {MOST_BLOCKS} blocks can be laid at once, not {copies}: lay them in parts"
        raise Wrong("blocks", sentence)


def _shrinkage_findings(ask: ClothAsk) -> tuple[Finding, ...]:
    if ask.shrink_warp_percent or ask.shrink_weft_percent:
        return ()
    text = (
        "Nothing is allowed for shrinking. That is right for cloth washed before cutting; "
        "otherwise wash a swatch, measure it before and after, and lay the blocks out again."
    )
    return (Finding("no_shrinkage", text),)


def _spare_findings(placements: Iterable[PlacedBlock]) -> tuple[Finding, ...]:
    spares = ", ".join(one.name for one in placements if one.spare)
    if not spares:
        return ()
    return (Finding("spare", f"Cut through two layers, this leaves one block too many of: {spares}."),)
