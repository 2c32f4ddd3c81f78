"""Bias binding for an edge: enough, least cloth, joins, refusals."""

import itertools
import math
import time
from dataclasses import replace

import pytest
from hypothesis import given, reject
from hypothesis import strategies as st

from service.reckoning.asked import Wrong
from service.reckoning.bias import BiasAsk, Fold, cut_width_mm, least_height_mm, plan_bias
from service.reckoning.shapes import Rect
from service.reckoning.strips import Cutting

ROOT_2 = math.sqrt(2)


@st.composite
def asks(draw: st.DrawFn) -> BiasAsk:
    return BiasAsk(
        finished_width_mm=draw(st.floats(3, 15)),
        fold=draw(st.sampled_from(["double", "single"])),
        edge_mm=draw(st.floats(50, 6000)),
        cloth_width_mm=draw(st.floats(150, 1600)),
        cloth_height_mm=draw(st.none() | st.floats(20, 1600)),
        join_seam_mm=draw(st.sampled_from([0.0, 3.0, 6.35, 10.0])),
        closed=draw(st.booleans()),
    )


@pytest.mark.parametrize(
    ("fold", "seam_mm", "cut_mm"),
    [("double", None, 36), ("double", 5, 34), ("double", 8, 40), ("single", None, 24), ("single", 5, 24)],
)
def test_a_binding_is_cut_for_its_fold_and_seam(fold: Fold, seam_mm: float | None, cut_mm: float) -> None:
    assert cut_width_mm(6, fold, seam_mm) == cut_mm


def test_a_given_piece_is_cut_whole_and_says_what_it_gives() -> None:
    plan = plan_bias(BiasAsk(5, "double", 500, cloth_width_mm=300, cloth_height_mm=200, join_seam_mm=6))
    step = 30 * ROOT_2
    legs = [200, 200, 300 - 3 * step, 200 - step, 300 - 4 * step, 200 - 2 * step, 300 - 5 * step]
    legs += [200 - 3 * step, 300 - 6 * step, 200 - 4 * step]
    assert plan.cut_width_mm == 30
    assert plan.cloth == Rect(0, 0, 300, 200)
    assert plan.strips_mm == pytest.approx([leg * ROOT_2 for leg in legs])
    assert plan.joins == 9
    assert plan.usable_mm == pytest.approx(sum(plan.strips_mm) - 9 * 12 * ROOT_2)
    assert plan.enough
    assert plan.join.ear_mm == 6
    assert [(piece.strip, piece.to_mm) for piece in plan.pieces] == [(1, pytest.approx(274.36, abs=0.01)), (2, 500)]
    assert plan.findings == ()


def test_too_small_a_piece_says_what_to_cut_instead() -> None:
    plan = plan_bias(BiasAsk(5, "double", 5000, cloth_width_mm=300, cloth_height_mm=200, join_seam_mm=6))
    assert not plan.enough
    assert plan.pieces == ()
    assert [finding.code for finding in plan.findings] == ["not_enough"]
    assert plan.findings[0].text == (
        f"This piece gives {plan.usable_mm:.0f} mm of binding and the edge needs 5000 mm: cut "
        f"{math.ceil(plan.cloth_height_mm)} mm along the warp."
    )
    again = plan_bias(BiasAsk(5, "double", 5000, 300, math.ceil(plan.cloth_height_mm), join_seam_mm=6))
    assert again.enough


def test_without_a_height_the_least_piece_is_cut() -> None:
    plan = plan_bias(BiasAsk(5, "double", 5000, cloth_width_mm=300))
    assert plan.enough
    assert plan.cloth == Rect(0, 0, 300, plan.cloth_height_mm)
    assert plan.usable_mm == pytest.approx(5000, abs=0.1)


def test_a_ring_has_a_join_more_and_needs_more_cloth() -> None:
    band = plan_bias(BiasAsk(5, "double", 900, 300, 200))
    ring = plan_bias(BiasAsk(5, "double", 900, 300, 200, closed=True))
    assert ring.joins == len(ring.strips) == band.joins + 1
    assert ring.usable_mm == pytest.approx(band.usable_mm - 2 * ROOT_2 * 6.35)
    assert ring.cloth_height_mm > band.cloth_height_mm
    assert (len(band.notes), len(ring.notes)) == (2, 1)


def test_a_piece_nearly_square_says_that_all_strips_lie_across_its_corners() -> None:
    plan = plan_bias(BiasAsk(5, "double", 300, 300, 290))
    assert [finding.code for finding in plan.findings] == ["corners_only"]


def test_a_run_of_short_strips_says_what_would_give_it_in_one() -> None:
    plan = plan_bias(BiasAsk(6.35, "double", 300, cloth_width_mm=1500))
    assert max(plan.strips_mm) < 100
    assert plan.one_strip_height_mm == math.ceil(300 / ROOT_2 * 1000) / 1000
    assert [finding.code for finding in plan.findings] == ["short_strips"]
    assert plan.findings[0].text.endswith(" 213 mm along the warp would give it in one.")


def test_a_piece_whose_run_is_the_edge_to_the_hair_is_enough() -> None:
    ask = BiasAsk(5, "double", 500, cloth_width_mm=300, cloth_height_mm=200, join_seam_mm=6)
    usable_mm = plan_bias(ask).usable_mm
    assert plan_bias(replace(ask, edge_mm=usable_mm)).enough
    assert not plan_bias(replace(ask, edge_mm=usable_mm + 0.001)).enough


def test_strips_of_10_cm_are_not_short_and_shorter_ones_say_so_where_no_length_gives_one() -> None:
    """Strips across a piece h high are h√2 long; 500 mm in one would need 354 mm of width, more than the 300."""
    long, short = (BiasAsk(5, "double", 500, 300, height_mm, join_seam_mm=0) for height_mm in (100 / ROOT_2, 60))
    assert plan_bias(long).findings == ()
    assert [finding.text for finding in plan_bias(short).findings] == [
        "The edge is pieced from 7 strips, the shortest only 25 mm."  # (300 - 7 × 20√2) √2 lies across a corner
    ]


def test_strips_may_be_asked_to_be_long_and_the_least_cloth_follows() -> None:
    plan = plan_bias(BiasAsk(6.35, "double", 1000, cloth_width_mm=1500, shortest_strip_mm=250))
    assert min(plan.strips_mm) >= 250
    assert plan.cloth_height_mm == pytest.approx(250 / ROOT_2, abs=0.001)
    assert plan.findings == ()


@pytest.mark.parametrize(
    ("edge_mm", "width_mm", "closed", "height_mm"),
    [
        (300, 260, False, 300 / ROOT_2),
        (300, 250, False, 300 / ROOT_2 + 30 * ROOT_2),
        (300, 212, False, None),
        (300, 300, True, 300 / ROOT_2 + 20),
    ],
    ids=["wide", "barely-wide", "too-narrow", "ring"],
)
def test_the_least_cloth_for_one_strip(edge_mm: float, width_mm: float, closed: bool, height_mm: float | None) -> None:
    ask = BiasAsk(5, "double", edge_mm, width_mm, join_seam_mm=10, closed=closed)
    one_mm = plan_bias(ask).one_strip_height_mm
    if height_mm is None:
        assert one_mm is None
    else:
        assert one_mm == pytest.approx(height_mm, abs=0.001)
        single = plan_bias(BiasAsk(5, "double", edge_mm, width_mm, one_mm, join_seam_mm=10, closed=closed))
        assert len(single.pieces) == 1


def test_a_narrow_cloth_short_of_one_strip_gives_no_advice_to_cut_one() -> None:
    plan = plan_bias(BiasAsk(5, "double", 1000, cloth_width_mm=120, join_seam_mm=6))
    assert plan.one_strip_height_mm is None
    assert not any("in one" in finding.text for finding in plan.findings)


def test_joins_keep_away_from_the_centre_front() -> None:
    ask = BiasAsk(5, "double", 500, 300, 190, join_seam_mm=6)
    near = plan_bias(replace(ask, keep_clear_at_mm=(255,), clear_mm=15))
    far = plan_bias(replace(ask, keep_clear_at_mm=(250,), clear_mm=30))
    assert [round(piece.to_mm, 2) for piece in near.pieces] == [240, 500]
    assert [round(piece.to_mm, 2) for piece in far.pieces] == [220, 471.73, 500]
    assert (near.findings, far.findings) == ((), ())


def test_a_join_that_must_fall_at_the_centre_front_is_a_finding() -> None:
    places = tuple(float(place) for place in range(0, 501, 50))
    plan = plan_bias(BiasAsk(5, "double", 500, 300, 190, keep_clear_at_mm=places, clear_mm=30))
    assert {finding.code for finding in plan.findings} == {"join_near"}
    assert plan.findings[0].text.startswith("A join comes within 30 mm of 250 mm along the edge")


@pytest.mark.parametrize(
    ("ask", "field", "words"),
    [
        (BiasAsk(0, "double", 500, 300), "finished_width_mm", "must be above zero"),
        (BiasAsk(math.nan, "double", 500, 300), "finished_width_mm", "must be a number"),
        (BiasAsk(5, "triple", 500, 300), "fold", "must be double or single, not 'triple'"),  # type: ignore[arg-type]
        (BiasAsk(5, "double", -1, 300), "edge_mm", "must be above zero"),
        (BiasAsk(5, "double", 500, 0), "cloth_width_mm", "must be above zero"),
        (BiasAsk(5, "double", 500, 300, 0), "cloth_height_mm", "must be above zero"),
        (BiasAsk(5, "double", 500, 300, math.inf), "cloth_height_mm", "must be a number"),
        (BiasAsk(5, "double", 500, 300, binding_seam_mm=0), "binding_seam_mm", "must be above zero"),
        (BiasAsk(5, "double", 500, 300, join_seam_mm=-1), "join_seam_mm", "must be at least 0"),
        (BiasAsk(5, "double", 500, 300, shortest_strip_mm=-1), "shortest_strip_mm", "must be at least 0"),
        (BiasAsk(5, "double", 500, 300, keep_clear_at_mm=(501,)), "keep_clear_at_mm", "must be at most 500"),
        (BiasAsk(5, "double", 500, 300, clear_mm=-1), "clear_mm", "must be at least 0"),
        (BiasAsk(5, "double", 500, 12), "cloth_width_mm", "is too narrow"),
        (BiasAsk(5, "double", 500, 300, shortest_strip_mm=430), "cloth_width_mm", "is too narrow"),
        (BiasAsk(5, "double", 900_000, 25), "edge_mm", "needs more than 100 m of this cloth"),
        (BiasAsk(0.25, "single", 500, 1500, 100_000), "cloth_height_mm", "gives 71[0-9]+ strips, more than 10000"),
        (BiasAsk(0.25, "single", 1_000_000, 80), "edge_mm", "strips, more than 10000"),
    ],
)
def test_a_binding_that_cannot_be_cut_is_refused_at_its_field(ask: BiasAsk, field: str, words: str) -> None:
    with pytest.raises(Wrong, match=words) as refused:
        plan_bias(ask)
    assert refused.value.field == field


@pytest.mark.parametrize(
    "ask",
    [
        BiasAsk(2, "single", 1_000_000, 1500, 75_000),
        BiasAsk(2, "single", 1_000_000, 1500, keep_clear_at_mm=(500_000,)),
        BiasAsk(0.25, "single", 9000, 1500),
    ],
    ids=["thousands-of-strips", "a-kilometre", "a-millimetre-least"],
)
def test_extremes_are_answered_within_a_second(ask: BiasAsk) -> None:
    begun = time.process_time()
    assert plan_bias(ask).usable_mm >= 9000
    assert time.process_time() - begun < 1


def test_a_millimetre_strip_from_a_hundred_metres_is_refused_at_once() -> None:
    begun = time.process_time()
    with pytest.raises(Wrong):
        plan_bias(BiasAsk(0.25, "single", 500, 1500, 100_000))
    assert time.process_time() - begun < 1


@given(asks())
def test_the_least_cloth_is_enough_and_a_micrometre_less_is_not(ask: BiasAsk) -> None:
    try:
        least_mm = plan_bias(ask).cloth_height_mm
    except Wrong:  # narrower than a strip's joins
        reject()

    def enough(height_mm: float) -> bool:
        return plan_bias(replace(ask, cloth_height_mm=height_mm)).enough

    assert enough(least_mm)
    assert not enough(least_mm - 0.001)
    area = ask.cloth_width_mm * least_mm
    assert area >= ask.edge_mm * cut_width_mm(ask.finished_width_mm, ask.fold) * (1 - 1e-6)


@given(asks())
def test_enough_says_whether_pieces_cover_the_edge_and_joins_go_with_strips(ask: BiasAsk) -> None:
    try:
        plan = plan_bias(ask)
    except Wrong:
        reject()
    assert plan.enough == (plan.usable_mm >= ask.edge_mm - 1e-6) == bool(plan.pieces)
    assert plan.joins == (len(plan.strips) if ask.closed else max(0, len(plan.strips) - 1))
    assert plan.usable_mm == pytest.approx(sum(plan.strips_mm) - plan.joins * 2 * ROOT_2 * ask.join_seam_mm, abs=1e-6)
    assert plan.enough != any(finding.code == "not_enough" for finding in plan.findings)
    assert plan.enough or plan.cloth_height_mm > plan.cloth.height
    assert all(before >= after - 1e-6 for before, after in itertools.pairwise(plan.strips_mm))


@given(st.floats(10, 100), st.floats(200, 1500), st.floats(50, 3000), st.floats(0, 2000))
def test_a_longer_edge_never_needs_less_cloth(cut_mm: float, width_mm: float, edge_mm: float, more_mm: float) -> None:
    cutting = Cutting(cut_mm, width_mm, 1, 6.35)
    assert least_height_mm(cutting, edge_mm) <= least_height_mm(cutting, edge_mm + more_mm)
