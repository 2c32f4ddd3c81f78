"""The continuous strip cut from a sewn tube."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Polygon

from service.reckoning.asked import Wrong
from service.reckoning.tube import TubeAsk, plan_tube

ROOT_2 = math.sqrt(2)


def test_without_a_square_the_least_one_is_planned() -> None:
    plan = plan_tube(TubeAsk(38.1, 3000))
    assert plan.enough
    assert plan.square[2] == (plan.square_mm, plan.square_mm)
    assert not plan_tube(TubeAsk(38.1, 3000, square_mm=plan.square_mm - 0.001)).enough


def test_a_square_too_small_for_one_lap_gives_nothing() -> None:
    plan = plan_tube(TubeAsk(38.1, 100, square_mm=10))
    assert (plan.laps, plan.usable_mm, plan.enough, plan.lap_mm) == (0, 0, False, 0)


@pytest.mark.parametrize(
    ("ask", "field"),
    [
        (TubeAsk(0, 100), "cut_width_mm"),
        (TubeAsk(0.5, 1000, square_mm=9000), "cut_width_mm"),
        (TubeAsk(25, math.nan), "length_mm"),
        (TubeAsk(2000, 1_000_000), "length_mm"),
        (TubeAsk(25, 100, join_seam_mm=-1), "join_seam_mm"),
        (TubeAsk(25, 100, square_mm=0), "square_mm"),
    ],
)
def test_a_tube_that_cannot_be_cut_is_refused_at_its_field(ask: TubeAsk, field: str) -> None:
    with pytest.raises(Wrong) as refused:
        plan_tube(ask)
    assert refused.value.field == field


@given(st.floats(15, 120), st.floats(300, 20_000), st.floats(0, 12))
def test_the_least_square_is_enough_and_a_micrometre_less_is_not(
    cut_mm: float, length_mm: float, seam_mm: float
) -> None:
    least_mm = plan_tube(TubeAsk(cut_mm, length_mm, seam_mm)).square_mm
    assert plan_tube(TubeAsk(cut_mm, length_mm, seam_mm, least_mm)).enough
    assert not plan_tube(TubeAsk(cut_mm, length_mm, seam_mm, least_mm - 0.001)).enough
    assert least_mm**2 >= cut_mm * length_mm * (1 - 1e-9)


@given(st.floats(15, 120), st.floats(150, 900), st.floats(0, 12))
def test_lap_lines_lie_a_cut_width_apart_on_the_sewn_piece(cut_mm: float, square_mm: float, seam_mm: float) -> None:
    plan = plan_tube(TubeAsk(cut_mm, 300, seam_mm, square_mm))
    sewn = Polygon(plan.sewn).buffer(1e-6)
    lines = [LineString(line) for line in plan.lap_lines]
    assert len(lines) == plan.laps + 1
    assert all(sewn.covers(line) for line in lines)
    for number, line in enumerate(lines):
        assert line.bounds[:2] == pytest.approx((number * cut_mm * ROOT_2, 0))
        assert line.length == pytest.approx(square_mm * ROOT_2)
    spare_mm = square_mm - 2 * seam_mm - plan.laps * plan.shift_mm
    assert -1e-6 <= spare_mm < plan.shift_mm
    assert plan.usable_mm == pytest.approx(plan.laps * max(0, square_mm - 3 * seam_mm) * ROOT_2)
    assert plan.usable_mm * cut_mm <= square_mm**2 * (1 + 1e-9)
    assert plan.seam == ((square_mm - seam_mm, 0.0), (square_mm - seam_mm, square_mm))
    assert plan.diagonal == (plan.square[0], plan.square[2])
