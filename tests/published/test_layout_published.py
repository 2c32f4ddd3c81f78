"""Cloth to buy against strips of known least length.

Hopper & Turton, "An empirical investigation of meta-heuristic and heuristic algorithms for a 2D packing
problem", European Journal of Operational Research 128 (2001) 34-57, test-data appendix: problems C1P1 and C1P2
tile a strip 20 wide to a length of exactly 20. The pieces are printed as (height, width). That 20 is reached
without turning, either way the pairs are read, was checked by hand and by search, not printed.
"""

import pytest

from service.reckoning.blocks import Block
from service.reckoning.layout import ClothAsk, ClothPlan, plan_cloth

C1P1 = [
    *[(2, 12), (7, 12), (8, 6), (3, 6), (3, 5), (5, 5), (3, 12), (3, 7)],
    *[(5, 7), (2, 6), (3, 2), (4, 2), (3, 4), (4, 4), (9, 2), (11, 2)],
]
C1P2 = [
    *[(4, 1), (4, 5), (9, 4), (3, 5), (3, 9), (1, 4), (5, 3), (4, 1), (5, 5)],
    *[(7, 2), (9, 3), (3, 13), (2, 8), (15, 4), (5, 4), (10, 6), (7, 2)],
]
# A layout of C1P1 at 20 without turning, pieces in the printed order as (x, y): worked out, not printed.
C1P1_WITNESS = [
    *[(0, 15), (0, 0), (12, 0), (12, 8), (7, 17), (7, 10), (0, 7), (0, 17)],
    *[(0, 10), (14, 15), (18, 17), (18, 11), (14, 17), (14, 11), (12, 11), (18, 0)],
]


def _laid_out(pairs: list[tuple[int, int]]) -> ClothPlan:
    blocks = tuple(Block(str(place), width, height) for place, (height, width) in enumerate(pairs))
    return plan_cloth(ClothAsk(blocks, cloth_width_mm=20))


@pytest.mark.parametrize(
    "pairs",
    [
        pytest.param(C1P1, id="C1P1 as (height, width)"),
        pytest.param([pair[::-1] for pair in C1P1], id="C1P1 as (width, height)"),
        pytest.param(C1P2, id="C1P2 as (height, width)"),
        pytest.param([pair[::-1] for pair in C1P2], id="C1P2 as (width, height)"),
    ],
)
def test_hopper_and_turton_c1_is_laid_out_at_its_least_length_without_turning(
    pairs: list[tuple[int, int]],
) -> None:
    plan = _laid_out(pairs)

    assert plan.length_mm == 20
    assert plan.waste_percent == 0
    assert plan.buy_mm == 100


def test_the_pieces_as_copied_here_tile_their_strip_as_published() -> None:
    assert sum(height * width for height, width in C1P1) == 400
    assert sum(height * width for height, width in C1P2) == 400
    covered = [
        (x + across, y + down)
        for (height, width), (x, y) in zip(C1P1, C1P1_WITNESS, strict=True)
        for across in range(width)
        for down in range(height)
    ]
    assert sorted(covered) == [(x, y) for x in range(20) for y in range(20)]
