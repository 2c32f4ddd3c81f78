"""Blocks, their layout on cloth, and the packing behind it."""

import math
import time
from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box

from service.reckoning.asked import Wrong
from service.reckoning.blocks import Block
from service.reckoning.folded import plan_folded
from service.reckoning.layout import ClothAsk, ClothPlan, PlacedBlock, compare_widths, plan_cloth
from service.reckoning.packing import Laid, least_length, length_of, pack

NONSENSE = [0, -5, math.nan, math.inf]


def _blocks(*, on_fold: st.SearchStrategy[bool]) -> st.SearchStrategy[tuple[Block, ...]]:
    block = st.builds(
        Block,
        name=st.sampled_from(["front", "back", "sleeve"]),
        width_mm=st.floats(10, 300),
        height_mm=st.floats(10, 900),
        copies=st.integers(1, 4),
        on_fold=on_fold,
    )
    return st.lists(block, min_size=1, max_size=6).map(tuple)


def _asks(blocks: st.SearchStrategy[tuple[Block, ...]]) -> st.SearchStrategy[ClothAsk]:
    return st.builds(
        ClothAsk,
        blocks=blocks,
        cloth_width_mm=st.floats(1000, 1600),
        selvedge_mm=st.floats(0, 20),
        shrink_warp_percent=st.floats(0, 10),
        shrink_weft_percent=st.floats(0, 10),
    )


def _lies_right(plan: ClothPlan, ask: ClothAsk) -> None:
    """No block over another, none outside the cloth's usable width, none beyond the length."""
    shapes = [box(p.x_mm, p.y_mm, p.x_mm + p.width_mm, p.y_mm + p.height_mm) for p in plan.placements]
    assert all(one.intersection(other).area < 1e-6 for one, other in combinations(shapes, 2))
    usable = box(ask.selvedge_mm, 0, ask.cloth_width_mm - ask.selvedge_mm, plan.length_mm).buffer(0.002)
    assert all(usable.contains(shape) for shape in shapes)


@given(_asks(_blocks(on_fold=st.booleans())))
@settings(max_examples=20, deadline=None)
def test_a_layout_never_overlaps_never_turns_and_never_beats_the_bound(ask: ClothAsk) -> None:
    plan = plan_cloth(ask)

    _lies_right(plan, ask)
    wanted = sorted(
        (
            block.name,
            round(block.width_mm * (1 + block.on_fold) / (1 - ask.shrink_weft_percent / 100), 2),
            round(block.height_mm / (1 - ask.shrink_warp_percent / 100), 2),
        )
        for block in ask.blocks
        for _ in range(block.copies)
    )
    got = sorted((p.name, p.width_mm, p.height_mm) for p in plan.placements)
    assert [name for name, _, _ in got] == [name for name, _, _ in wanted]
    assert [size for _, *sizes in got for size in sizes] == pytest.approx(
        [size for _, *sizes in wanted for size in sizes],
        abs=0.01,
    )
    area = sum(width * height for _, width, height in got)
    tallest = max(height for _, _, height in got)
    usable = ask.cloth_width_mm - 2 * ask.selvedge_mm
    assert plan.length_mm >= max(area / usable, tallest) - 0.01
    assert plan.least_mm <= plan.length_mm
    assert plan.waste_percent == pytest.approx(100 * (1 - area / (ask.cloth_width_mm * plan.length_mm)), abs=1e-3)


@given(_asks(_blocks(on_fold=st.booleans())))
@settings(max_examples=20, deadline=None)
def test_folded_cloth_gives_every_block_and_one_spare_for_an_odd_copy(ask: ClothAsk) -> None:
    plan = plan_folded(ask)

    _lies_right(plan, ask)
    asked = sorted(block.name for block in ask.blocks for _ in range(block.copies))
    assert sorted(p.name for p in plan.placements if not p.spare) == asked
    odd = sorted(block.name for block in ask.blocks if block.copies % 2 and not block.on_fold)
    assert sorted(p.name for p in plan.placements if p.spare) == odd
    assert any(finding.code == "spare" for finding in plan.findings) == bool(odd)
    middle = ask.cloth_width_mm / 2
    halves = sorted(block.name for block in ask.blocks for _ in range(block.copies) if block.on_fold)
    opened = [p for p in plan.placements if abs(p.x_mm + p.width_mm / 2 - middle) < 0.01]
    assert sorted(p.name for p in opened) == halves


@given(_asks(_blocks(on_fold=st.just(value=False))))
@settings(max_examples=8, deadline=None)
def test_a_layout_is_the_same_every_time(ask: ClothAsk) -> None:
    assert plan_cloth(ask) == plan_cloth(ask)


@given(
    sizes=st.lists(st.tuples(st.integers(1, 12), st.integers(1, 12)), min_size=1, max_size=12),
    width=st.integers(12, 20),
)
@settings(max_examples=25, deadline=None)
def test_packing_fills_whole_squares_once_at_most(sizes: list[tuple[int, int]], width: int) -> None:
    laid = pack(sizes, width)

    squares = [
        (one.x + across, one.y + along) for one in laid for across in range(one.width) for along in range(one.height)
    ]
    assert len(squares) == len(set(squares)) == sum(across * along for across, along in sizes)
    assert sorted((one.width, one.height) for one in laid) == sorted(sizes)
    assert all(one.x >= 0 and one.x + one.width <= width for one in laid)
    assert least_length(sizes, width) <= length_of(laid) <= sum(along for _, along in sizes)


def test_packing_lays_on_what_lies_there_already() -> None:
    laid = pack([(4, 2), (6, 5)], 10, [(0, 0, 6), (3, 6, 4)])

    assert sorted(laid, key=lambda one: one.x) == [Laid(0, 0, 6, 5), Laid(6, 3, 4, 2)]


def test_packing_nothing_takes_no_length() -> None:
    assert pack([], 10) == ()
    assert length_of(()) == 0
    assert least_length([], 10) == 0


def test_two_blocks_abreast_take_one_height_of_cloth() -> None:
    plan = plan_cloth(ClothAsk((Block("front", 400, 700, copies=2),), cloth_width_mm=900, selvedge_mm=10))

    assert plan.placements == (
        PlacedBlock("front", 10, 0, 400, 700),
        PlacedBlock("front", 410, 0, 400, 700),
    )
    assert plan.length_mm == plan.least_mm == 700
    assert plan.waste_percent == pytest.approx(100 * (1 - 800 / 900))


@pytest.mark.parametrize(("height_mm", "buy_mm"), [(700, 700), (700.001, 800), (1, 100), (699.9999, 700)])
def test_the_length_to_buy_is_the_next_hundred_millimetres(height_mm: float, buy_mm: int) -> None:
    assert plan_cloth(ClothAsk((Block("front", 400, height_mm),), 900)).buy_mm == buy_mm


def test_shrinkage_along_the_warp_lengthens_and_along_the_weft_widens_the_cut() -> None:
    ask = ClothAsk((Block("skirt", 900, 600),), 1400, shrink_warp_percent=4, shrink_weft_percent=10)

    assert [(p.width_mm, p.height_mm) for p in plan_cloth(ask).placements] == [(1000, 625)]


def test_a_half_block_on_the_fold_is_opened_out() -> None:
    ask = ClothAsk((Block("front", 250, 600, on_fold=True),), 1400, selvedge_mm=10)

    assert [(p.width_mm, p.height_mm) for p in plan_cloth(ask).placements] == [(500, 600)]
    assert plan_folded(ask).placements == (PlacedBlock("front", 450, 0, 500, 600),)


def test_half_blocks_stand_along_the_fold_and_pairs_beside_them() -> None:
    blocks = (Block("sleeve", 300, 400, copies=2), Block("front", 350, 400, on_fold=True))

    plan = plan_folded(ClothAsk(blocks, 1400))

    assert plan.placements == (
        PlacedBlock("front", 350, 0, 700, 400),
        PlacedBlock("sleeve", 50, 0, 300, 400),
        PlacedBlock("sleeve", 1050, 0, 300, 400),
    )
    assert plan.length_mm == 400


def test_a_spare_block_is_named_and_counted_as_waste() -> None:
    plan = plan_folded(ClothAsk((Block("yoke", 500, 200),), 1000, shrink_warp_percent=20))

    assert plan.waste_percent == 50
    assert [finding.text for finding in plan.findings] == [
        "Cut through two layers, this leaves one block too many of: yoke."
    ]


def test_no_shrinkage_is_said_so_and_any_shrinkage_is_not() -> None:
    ask = ClothAsk((Block("front", 400, 700),), 900)

    assert [finding.code for finding in plan_cloth(ask).findings] == ["no_shrinkage"]
    assert plan_cloth(replace(ask, shrink_weft_percent=2)).findings == ()
    assert plan_cloth(replace(ask, shrink_warp_percent=2)).findings == ()


def test_widths_are_compared_side_by_side_and_a_narrow_one_is_a_finding() -> None:
    ask = ClothAsk((Block("skirt", 1000, 700, copies=2),), cloth_width_mm=1)

    narrow, single, double = compare_widths(ask, (900, 1400, 2000))

    assert narrow.plan is None
    assert narrow.finding is not None
    assert narrow.finding.text == (
        "'skirt' is 1000.0 mm wide as cut, but only 900.0 mm of the cloth can be used: "
        "choose a wider cloth, or make the block of two with a seam"
    )
    assert single.plan is not None
    assert single.plan.length_mm == 1400
    assert double.plan is not None
    assert double.plan.length_mm == 700


@pytest.mark.parametrize("widths", [(), (900,) * 5])
def test_comparing_no_width_or_five_is_refused(widths: tuple[float, ...]) -> None:
    with pytest.raises(Wrong) as refused:
        compare_widths(ClothAsk((Block("front", 400, 700),), 900), widths)
    assert refused.value.field == "widths_mm"


def _refused_field(ask: ClothAsk) -> str:
    with pytest.raises(Wrong) as refused:
        plan_cloth(ask)
    return refused.value.field


FRONT = Block("front", 400, 700)


@pytest.mark.parametrize("value", NONSENSE)
def test_nonsense_is_refused_at_its_field(value: float) -> None:
    good = ClothAsk((FRONT, FRONT), 900)
    assert _refused_field(replace(good, cloth_width_mm=value)) == "cloth_width_mm"
    assert _refused_field(replace(good, blocks=(FRONT, replace(FRONT, width_mm=value)))) == "blocks.1.width_mm"
    assert _refused_field(replace(good, blocks=(FRONT, replace(FRONT, height_mm=value)))) == "blocks.1.height_mm"


@pytest.mark.parametrize("value", [-1, math.nan, 51])
def test_a_shrinkage_no_cloth_has_is_refused(value: float) -> None:
    good = ClothAsk((FRONT,), 900)
    assert _refused_field(replace(good, shrink_warp_percent=value)) == "shrink_warp_percent"
    assert _refused_field(replace(good, shrink_weft_percent=value)) == "shrink_weft_percent"


@pytest.mark.parametrize("copies", [0, -1, 1.5])
def test_copies_are_whole_and_at_least_one(copies: float) -> None:
    asked = replace(FRONT, copies=copies)  # type: ignore[arg-type]
    assert _refused_field(ClothAsk((FRONT, asked), 900)) == "blocks.1.copies"


@pytest.mark.parametrize(
    ("ask", "field"),
    [
        pytest.param(ClothAsk((), 900), "blocks", id="nothing to lay"),
        pytest.param(ClothAsk((FRONT,), 900, selvedge_mm=450), "selvedge_mm", id="all selvedge"),
        pytest.param(ClothAsk((FRONT,), 900, selvedge_mm=-1), "selvedge_mm", id="negative selvedge"),
        pytest.param(ClothAsk((FRONT,), 399.9), "blocks.0.width_mm", id="too narrow"),
        pytest.param(ClothAsk((FRONT,), 410, selvedge_mm=6), "blocks.0.width_mm", id="too narrow by selvedge"),
        pytest.param(ClothAsk((FRONT,), 410, shrink_weft_percent=5), "blocks.0.width_mm", id="too narrow shrunk"),
        pytest.param(ClothAsk((replace(FRONT, on_fold=True),), 700), "blocks.0.width_mm", id="too narrow opened"),
    ],
)
def test_what_cannot_be_laid_is_refused_at_its_field(ask: ClothAsk, field: str) -> None:
    assert _refused_field(ask) == field


@pytest.mark.parametrize(
    "blocks",
    [(FRONT,) * 501, (replace(FRONT, copies=2),) * 500, (replace(FRONT, copies=10_000),), (FRONT,) * 10_000],
)
def test_more_than_five_hundred_blocks_are_refused(blocks: tuple[Block, ...]) -> None:
    assert _refused_field(ClothAsk(blocks, 900)) == "blocks"


def _made_up(blocks: int) -> tuple[Block, ...]:
    return tuple(Block(f"{n}", 50 + n * 37 % 600, 60 + n * n * 53 % 800) for n in range(blocks))


@pytest.mark.parametrize(("blocks", "length_mm"), [(12, 812), (30, 3413), (60, 6883)])
def test_a_layout_is_as_short_as_has_been_found_before(blocks: int, length_mm: float) -> None:
    # Made-up blocks; the lengths are our own results, kept so that no change lays them out longer.
    assert plan_cloth(ClothAsk(_made_up(blocks), 1400)).length_mm <= length_mm


@pytest.mark.parametrize(("blocks", "seconds"), [(12, 0.4), (60, 0.2), (500, 1)])
def test_blocks_are_laid_in_a_moment(blocks: int, seconds: float) -> None:
    start = time.process_time()

    plan = plan_cloth(ClothAsk(_made_up(blocks), 1400))

    assert time.process_time() - start < seconds
    assert len(plan.placements) == blocks


def test_four_blocks_round_a_small_one_fill_the_cloth_above_what_lies_there() -> None:
    """3 × 2 and 2 × 3, each twice, turn round 1 × 1: 25 in all, five long on a strip five wide, above two long."""
    round_it = [(3, 2), (2, 3), (3, 2), (2, 3), (1, 1)]
    assert length_of(pack(round_it, 5)) == 5
    assert length_of(pack(round_it, 5, [(2, 0, 5)])) == 7
