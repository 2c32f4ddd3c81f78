"""Growth tucks above a hem."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.reckoning.asked import Wrong
from service.reckoning.growth import GrowthAsk, plan_growth_tucks


def test_growth_tucks_are_counted_up_from_the_hem() -> None:
    plan = plan_growth_tucks(GrowthAsk(40, 10, 20, above_hem_mm=60, spacing_mm=25))
    assert (plan.tucks, plan.depth_mm, plan.take_up_mm, plan.lets_down_mm) == (2, 10, 40, (20, 40))
    assert [(line.line, line.tuck, line.from_hem_mm, line.from_hem_threads) for line in plan.lines] == [
        ("seam", 1, 60, 120),
        ("fold", 1, 70, 140),
        ("seam", 1, 80, 160),
        ("seam", 2, 105, 210),
        ("fold", 2, 115, 230),
        ("seam", 2, 125, 250),
    ]


def test_growth_tucks_are_plain_because_a_drawn_strip_leaves_its_opening() -> None:
    notes = plan_growth_tucks(GrowthAsk(40, 10, 20, above_hem_mm=60)).notes
    assert notes[0].startswith("Sew growth tucks plain, in running stitches")


@pytest.mark.parametrize(
    ("ask", "field"),
    [
        (GrowthAsk(0, 10, 20, 60), "let_down_mm"),
        (GrowthAsk(math.nan, 10, 20, 60), "let_down_mm"),
        (GrowthAsk(40, 0, 20, 60), "deepest_mm"),
        (GrowthAsk(40, 0.4, 20, 60), "deepest_mm"),
        (GrowthAsk(1002, 1, 20, 60), "deepest_mm"),
        (GrowthAsk(40, 10, 0, 60), "threads_per_cm"),
        (GrowthAsk(40, 10, 20, 0), "above_hem_mm"),
        (GrowthAsk(40, 10, 20, 9), "above_hem_mm"),
        (GrowthAsk(40, 10, 20, 60, spacing_mm=19), "spacing_mm"),
        (GrowthAsk(40, 10, 20, 60, spacing_mm=-1), "spacing_mm"),
    ],
)
def test_growth_tucks_that_cannot_hang_are_refused_at_their_field(ask: GrowthAsk, field: str) -> None:
    with pytest.raises(Wrong) as refused:
        plan_growth_tucks(ask)
    assert refused.value.field == field


def test_the_lowest_fold_may_touch_the_hem_and_spacing_may_be_twice_the_depth() -> None:
    plan = plan_growth_tucks(GrowthAsk(40, 10, 20, above_hem_mm=10, spacing_mm=20))
    assert [line.from_hem_mm for line in plan.lines] == [10, 20, 30, 50, 60, 70]


def test_left_out_spacing_leaves_a_space_as_deep_as_a_tuck_between_a_fold_and_the_seam_line_below() -> None:
    """By pencil: seams at 100 and 130 mm, the upper fold hangs 15 mm down to 115 mm, and 15 mm stay free."""
    plan = plan_growth_tucks(GrowthAsk(60, 15, 20, above_hem_mm=100))
    assert (plan.tucks, plan.depth_mm) == (2, 15)
    flat = [line.from_hem_mm for line in plan.lines if line.line == "seam"]
    lower, upper = flat[0], flat[2] - 2 * plan.depth_mm  # on the finished skirt the lower tuck is taken up
    assert (lower, upper, upper - plan.depth_mm - lower) == (100, 130, plan.depth_mm)


@given(
    let_down_mm=st.floats(1, 300),
    deepest_mm=st.floats(2, 30),
    threads_per_cm=st.floats(5, 60),
    above_mm=st.floats(40, 300),
)
def test_growth_tucks_let_down_enough_with_the_fewest_and_stay_on_threads(
    let_down_mm: float, deepest_mm: float, threads_per_cm: float, above_mm: float
) -> None:
    plan = plan_growth_tucks(GrowthAsk(let_down_mm, deepest_mm, threads_per_cm, above_mm))
    thread_mm = 10 / threads_per_cm
    assert let_down_mm - 1e-6 <= plan.lets_down_mm[-1] < let_down_mm + 2 * plan.tucks * thread_mm + 1e-6
    assert plan.lets_down_mm[-1] == plan.take_up_mm
    assert plan.depth_mm <= deepest_mm + 1e-6
    deepest_whole_mm = math.floor(deepest_mm / thread_mm + 1e-9) * thread_mm
    assert (plan.tucks - 1) * 2 * deepest_whole_mm < let_down_mm + 1e-6
    assert all(line.from_hem_mm == pytest.approx(line.from_hem_threads * thread_mm) for line in plan.lines)
    threads = [line.from_hem_threads for line in plan.lines]
    assert threads == sorted(threads)
    assert threads[0] >= plan.depth_threads


def test_tucks_whose_spacing_is_left_out_leave_twice_their_depth_between() -> None:
    lines = plan_growth_tucks(GrowthAsk(40, 5, 20, above_hem_mm=60)).lines
    assert [line.from_hem_threads for line in lines if line.line == "fold"] == [130, 170, 210, 250]
    assert [line.from_hem_threads for line in lines if line.line == "seam"] == [120, 140, 160, 180, 200, 220, 240, 260]
