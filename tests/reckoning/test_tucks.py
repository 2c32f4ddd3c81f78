"""Tucks on the flat block, by mm and by thread."""

import itertools
import math

import pytest
from hypothesis import given, reject
from hypothesis import strategies as st

from service.reckoning.asked import Wrong
from service.reckoning.tucks import (
    TucksAsk,
    TucksPlan,
    nearest_thread,
    plan_tucks,
    take_up_mm,
    tucks_across,
)


def marks(plan: TucksPlan) -> list[tuple[str, int, float, int]]:
    return [(each.line, each.tuck, each.from_centre_mm, each.from_centre_threads) for each in plan.lines]


def test_two_plain_tucks_lie_either_side_of_the_centre() -> None:
    plan = plan_tucks(TucksAsk(2, 5, 20, 100, spacing_mm=20))
    assert (plan.take_up_mm, plan.block_width_mm, plan.spacing_mm) == (20, 120, 20)
    assert marks(plan) == [
        ("knotted", 1, -20, -40),
        ("fold", 1, -15, -30),
        ("knotted", 1, -10, -20),
        ("knotted", 2, 10, 20),
        ("fold", 2, 15, 30),
        ("knotted", 2, 20, 40),
    ]


def test_an_opening_outside_the_tuck_is_not_taken_up() -> None:
    plan = plan_tucks(TucksAsk(1, 5, 20, 100, band_width_mm=4))
    assert (plan.take_up_mm, plan.block_width_mm) == (10, 110)
    assert marks(plan) == [
        ("band_edge", 1, -9, -18),
        ("knotted", 1, -5, -10),
        ("fold", 1, 0, 0),
        ("knotted", 1, 5, 10),
        ("band_edge", 1, 9, 18),
    ]


def test_an_opening_inside_the_tuck_is_taken_up_with_it() -> None:
    plan = plan_tucks(TucksAsk(2, 5, 20, 100, spacing_mm=20, band_width_mm=4, opening_inside=True))
    assert (plan.take_up_mm, plan.block_width_mm) == (36, 136)
    assert [line.from_centre_mm for line in plan.lines] == [-28, -24, -19, -14, -10, 10, 14, 19, 24, 28]


def test_tucks_without_a_spacing_divide_the_width_into_equal_spaces() -> None:
    plan = plan_tucks(TucksAsk(3, 5, 20, 200))
    assert plan.spacing_mm == 50
    assert [line.from_centre_mm for line in plan.lines if line.line == "fold"] == [-60, 0, 60]


def test_lines_are_marked_on_whole_threads_and_the_band_counted_from_the_fold() -> None:
    plan = plan_tucks(TucksAsk(2, 5.1, 19, 100, spacing_mm=21, band_width_mm=4))
    assert (plan.depth_threads, plan.band_threads) == (10, 8)
    assert [line.from_centre_threads for line in plan.lines] == [-48, -40, -30, -20, -12, 12, 20, 30, 40, 48]


@pytest.mark.parametrize(("length_mm", "threads"), [(0.0, 0), (0.24, 0), (0.25, 1), (-0.25, -1), (-0.24, 0), (5.3, 11)])
def test_nearest_thread_is_the_same_left_and_right(length_mm: float, threads: int) -> None:
    assert nearest_thread(length_mm, 20) == threads


def test_a_depth_between_two_threads_says_how_much_the_panel_changes() -> None:
    plan = plan_tucks(TucksAsk(31, 5.25, 20, 600, spacing_mm=12))
    assert plan.depth_threads == 11
    assert plan.finished_by_thread_mm == pytest.approx(600 - 31 * 2 * 0.25)
    assert [finding.code for finding in plan.findings] == ["off_by_threads"]
    assert plan.findings[0].text == (
        "Counted by whole threads the panel finishes 15.5 mm narrower: choose a depth of whole threads, "
        "or a block that much wider."
    )


def test_a_shallow_rounding_makes_the_panel_wider() -> None:
    plan = plan_tucks(TucksAsk(31, 5.2, 20, 600, spacing_mm=12))
    assert plan.finished_by_thread_mm == pytest.approx(612.4)
    assert plan.findings[0].text.startswith("Counted by whole threads the panel finishes 12.4 mm wider")
    assert plan.findings[0].text.endswith("or a block that much narrower.")


def test_a_millimetre_off_in_the_whole_width_is_no_finding() -> None:
    plan = plan_tucks(TucksAsk(2, 5.25, 20, 200, spacing_mm=30))
    assert plan.finished_by_thread_mm == 199
    assert plan.findings == ()


def test_a_tuck_with_its_opening_inside_may_cover_more_than_half_the_space_but_says_so() -> None:
    plan = plan_tucks(TucksAsk(3, 5, 20, 100, spacing_mm=12, band_width_mm=4, opening_inside=True))
    assert [(finding.code, finding.waits) for finding in plan.findings] == [("covers_space", False)]
    assert "9.0 mm deep" in plan.findings[0].text


def test_an_outer_tuck_that_hangs_over_the_edge_says_so() -> None:
    assert [finding.code for finding in plan_tucks(TucksAsk(3, 5, 20, 49, spacing_mm=20)).findings] == ["past_edge"]
    assert plan_tucks(TucksAsk(3, 5, 20, 50, spacing_mm=20)).findings == ()


def test_neck_and_shoulder_are_traced_only_when_the_tucks_are_made() -> None:
    plain = plan_tucks(TucksAsk(2, 5, 20, 100, spacing_mm=20))
    assert plain.notes[-1] == (
        "Before the tucks, trace neck and shoulder only as a guide: the tucks move them. Lay the pattern over again "
        "when the tucks have taken up their 20 mm, then trace and cut."
    )
    drawn = plan_tucks(TucksAsk(2, 5, 20, 100, spacing_mm=20, band_width_mm=4))
    assert (len(plain.notes), len(drawn.notes)) == (2, 3)
    assert drawn.notes[1].endswith("catch front and back together in every knot.")


@pytest.mark.parametrize(
    ("ask", "field", "words"),
    [
        (TucksAsk(0, 5, 20, 100), "tucks", "must be at least 1"),
        (TucksAsk(501, 1, 20, 9000), "tucks", "must be at most 500"),
        (TucksAsk(2, 0, 20, 100), "depth_mm", "must be above zero"),
        (TucksAsk(2, math.nan, 20, 100), "depth_mm", "must be a number"),
        (TucksAsk(2, 5, 0, 100), "threads_per_cm", "must be above zero"),
        (TucksAsk(2, 5, math.inf, 100), "threads_per_cm", "must be a number"),
        (TucksAsk(2, 5, 20, -1), "finished_width_mm", "must be above zero"),
        (TucksAsk(2, 5, 20, 100, spacing_mm=0), "spacing_mm", "must be above zero"),
        (TucksAsk(2, 5, 20, 100, band_width_mm=-1), "band_width_mm", "must be at least 0"),
        (
            TucksAsk(2, 10.1, 20, 100, spacing_mm=20),
            "depth_mm",
            r"must be at most half the spacing \(20 mm\), not 10.1",
        ),
        (TucksAsk(3, 13, 20, 100), "depth_mm", "must be at most half the spacing"),
        (TucksAsk(1, 11, 20, 100, spacing_mm=20), "depth_mm", "must be at most half the spacing"),
        (TucksAsk(2, 5, 20, 100, spacing_mm=20, band_width_mm=10.5), "band_width_mm", "half the spacing"),
        (TucksAsk(1, 5, 20, 100, band_width_mm=51), "band_width_mm", "half the finished width"),
        (TucksAsk(3, 5, 20, 39, spacing_mm=20), "spacing_mm", "puts the outer tucks past"),
        (TucksAsk(3, 5, 20, 47, spacing_mm=20, band_width_mm=4), "spacing_mm", "puts the outer tucks past"),
        (TucksAsk(2, 0.2, 20, 100), "depth_mm", "less than one thread at 20 threads per cm"),
        (TucksAsk(2, 5, 20, 100, band_width_mm=0.2), "band_width_mm", "less than one thread"),
        (TucksAsk(2, 0.25, 20, 100, spacing_mm=0.5), "spacing_mm", "leaves no whole thread"),
        (TucksAsk(2, 5, 20, 100, spacing_mm=20, band_width_mm=10), "spacing_mm", "leaves no whole thread"),
    ],
)
def test_tucks_that_cannot_lie_are_refused_at_their_field(ask: TucksAsk, field: str, words: str) -> None:
    with pytest.raises(Wrong, match=words) as refused:
        plan_tucks(ask)
    assert refused.value.field == field


def test_one_tuck_alone_may_be_deeper_than_half_the_space_beside_it() -> None:
    plan = plan_tucks(TucksAsk(1, 30, 20, 100))
    assert (plan.take_up_mm, plan.findings) == (60, ())


def test_openings_inside_the_tucks_take_no_room_on_the_finished_panel() -> None:
    plan = plan_tucks(TucksAsk(3, 10, 20, 40, spacing_mm=20, band_width_mm=15, opening_inside=True))
    assert (plan.take_up_mm, plan.block_width_mm) == (150, 190)


def test_tucks_just_as_deep_as_half_the_spacing_are_taken() -> None:
    assert plan_tucks(TucksAsk(3, 10, 20, 100, spacing_mm=20)).take_up_mm == 60


def test_spaces_that_reach_the_whole_width_are_taken_whatever_their_decimals() -> None:
    assert plan_tucks(TucksAsk(4, 0.05, 200, 0.6, spacing_mm=0.2)).block_width_mm == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("width_mm", "edge_mm", "spacing_mm", "field"),
    [
        (0, 0, 10, "finished_width_mm"),
        (100, -1, 10, "edge_mm"),
        (100, 50, 10, "edge_mm"),
        (100, 0, 0, "spacing_mm"),
        (100, 0, 0.1, "spacing_mm"),
        (100, 0, math.nan, "spacing_mm"),
    ],
)
def test_a_width_that_takes_no_spaces_is_refused(
    width_mm: float, edge_mm: float, spacing_mm: float, field: str
) -> None:
    with pytest.raises(Wrong) as refused:
        tucks_across(width_mm, edge_mm, spacing_mm)
    assert refused.value.field == field


def test_the_most_tucks_across_are_as_many_as_can_be_planned() -> None:
    assert tucks_across(499, 0, 1).tucks == 500
    with pytest.raises(Wrong, match="gives more than 500 tucks"):
        tucks_across(500, 0, 1)
    assert tucks_across(0.5, 0, 1).tucks == 2


@st.composite
def asks(draw: st.DrawFn) -> TucksAsk:
    tucks = draw(st.integers(1, 40))
    spacing_mm = draw(st.floats(4, 200))
    depth_mm = spacing_mm * draw(st.floats(0.1, 0.5))
    band_width_mm = spacing_mm * draw(st.just(0.0) | st.floats(0.1, 0.4))
    width_mm = (tucks + draw(st.floats(0, 5))) * spacing_mm
    return TucksAsk(
        tucks=tucks,
        depth_mm=depth_mm,
        threads_per_cm=draw(st.floats(15, 60)),
        finished_width_mm=width_mm,
        spacing_mm=spacing_mm,
        band_width_mm=band_width_mm,
        opening_inside=draw(st.booleans()),
    )


@given(asks())
def test_every_plan_is_symmetric_and_mirrors_about_each_fold(ask: TucksAsk) -> None:
    try:
        plan = plan_tucks(ask)
    except Wrong:  # coarse cloth: the strips of two tucks would share a thread
        reject()
    mm = [line.from_centre_mm for line in plan.lines]
    threads = [line.from_centre_threads for line in plan.lines]
    assert mm == pytest.approx([-each for each in reversed(mm)])
    assert threads == [-each for each in reversed(threads)]
    assert all(before < after for before, after in itertools.pairwise(threads))
    assert mm[-1] <= plan.block_width_mm / 2 + 1e-6
    for tuck in range(1, ask.tucks + 1):
        of_tuck = [line.from_centre_threads for line in plan.lines if line.tuck == tuck]
        fold = of_tuck[len(of_tuck) // 2]
        assert [thread - fold for thread in of_tuck] == [fold - thread for thread in reversed(of_tuck)]


@given(asks())
def test_every_line_lies_on_a_thread_beside_its_place(ask: TucksAsk) -> None:
    try:
        plan = plan_tucks(ask)
    except Wrong:
        reject()
    most_threads = {"fold": 0.5, "knotted": 1.0, "band_edge": 1.5}
    for line in plan.lines:
        off = line.from_centre_threads - line.from_centre_mm * ask.threads_per_cm / 10
        assert abs(off) <= most_threads[line.line] + 1e-6


@given(asks())
def test_the_block_is_the_finished_width_and_what_every_tuck_takes_up(ask: TucksAsk) -> None:
    try:
        plan = plan_tucks(ask)
    except Wrong:
        reject()
    each_mm = take_up_mm(ask.depth_mm, ask.band_width_mm, opening_inside=ask.opening_inside)
    assert plan.take_up_mm == pytest.approx(ask.tucks * each_mm)
    assert plan.block_width_mm == pytest.approx(ask.finished_width_mm + plan.take_up_mm)
    thread_mm = 10 / ask.threads_per_cm
    assert abs(plan.finished_by_thread_mm - ask.finished_width_mm) <= 2 * ask.tucks * thread_mm + 1e-6


@given(
    tucks=st.integers(2, 30),
    depth_mm=st.floats(0.5, 20),
    extra_mm=st.floats(0, 30),
    opening_inside=st.booleans(),
)
def test_sewn_tucks_lie_fold_to_fold_at_the_spacing(
    tucks: int, depth_mm: float, extra_mm: float, opening_inside: bool
) -> None:
    spacing_mm = 2 * depth_mm + 3 + extra_mm
    ask = TucksAsk(tucks, depth_mm, 20, tucks * spacing_mm, spacing_mm, 1.5, opening_inside)
    plan = plan_tucks(ask)
    folds_mm = [line.from_centre_mm for line in plan.lines if line.line == "fold"]
    each_mm = plan.take_up_mm / tucks
    assert [after - before - each_mm for before, after in itertools.pairwise(folds_mm)] == (
        pytest.approx([spacing_mm] * (tucks - 1))
    )


@given(width_mm=st.floats(10, 3000), edge_mm=st.floats(0, 4.9), spacing_mm=st.floats(7, 400))
def test_even_spaces_fill_the_width_and_are_never_wider_than_wished(
    width_mm: float, edge_mm: float, spacing_mm: float
) -> None:
    even = tucks_across(width_mm, edge_mm, spacing_mm)
    assert even.tucks == even.gaps + 1
    assert even.gaps * even.spacing_mm == pytest.approx(width_mm - 2 * edge_mm)
    assert even.spacing_mm <= spacing_mm * (1 + 1e-9)
    assert even.gaps == 1 or (width_mm - 2 * edge_mm) / (even.gaps - 1) > spacing_mm * (1 - 1e-9)


def test_what_else_to_know_of_tucks_is_said_in_the_order_of_the_work() -> None:
    assert plan_tucks(TucksAsk(5, 4, 20, 300, 20, 2)).notes == (
        "Mark the centre thread of the block and count every line from it; fold each tuck on its own thread.",
        "Withdraw the same threads on both sides of the fold, lay the strips thread over thread so that both show the same standing threads, and catch front and back together in every knot.",
        "Before the tucks, trace neck and shoulder only as a guide: the tucks move them. Lay the pattern over again when the tucks have taken up their 40 mm, then trace and cut.",
    )
