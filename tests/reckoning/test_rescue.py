"""Ways out of a trouble: those that are known for it, what each asks for, and why some are closed."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.reckoning.asked import Wrong
from service.reckoning.operations import OPERATIONS
from service.reckoning.rescue import KNOTS_A_BUNDLE, TROUBLES, InTrouble, Trouble, Way, cautions, ways_out

LADDER = InTrouble("ladder", 10, 320, 4, 2, 5.3, 160, cloth_on_hand_mm=900, block_height_mm=400)
bands = st.builds(
    InTrouble,
    kind=st.sampled_from(sorted(KNOTS_A_BUNDLE)),
    withdrawn_threads=st.integers(1, 60),
    standing_threads=st.integers(1, 2000),
    bundle_threads=st.integers(1, 12),
    stop_lines=st.integers(0, 2),
    width_mm=st.floats(0.5, 60),
    length_mm=st.floats(1, 3000),
    matched=st.integers(0, 3),
    knots_begun=st.booleans(),
    cut_out=st.booleans(),
    joined=st.booleans(),
    block_height_mm=st.floats(0, 1000),
    cloth_on_hand_mm=st.floats(0, 1000),
    tuck_length_mm=st.one_of(st.none(), st.floats(1, 2000)),
    left=st.just({"ladder_knot": 12.0}),
    panel_done=st.just({"cut_block": 1.0, "mark": 30.0}),
)


def _way(trouble: Trouble, band: InTrouble, name: str) -> Way:
    return next(way for way in ways_out(trouble, band) if way.name == name)


@given(st.sampled_from(TROUBLES), bands)
def test_every_way_says_how_or_why_not_and_the_open_ones_come_first(trouble: Trouble, band: InTrouble) -> None:
    found = ways_out(trouble, band)
    assert [way.is_open for way in found] == sorted((way.is_open for way in found), reverse=True)
    assert len({way.name for way in found}) == len(found)
    for way in found:
        assert way.how.endswith(".")
        assert way.is_open or way.why_not.endswith(".")
        assert set(way.work) <= set(OPERATIONS)
    assert all(sentence.endswith(".") for sentence in cautions(trouble))


@given(bands)
def test_no_edge_is_moved_once_its_knots_are_begun_or_the_panel_is_cut_out(band: InTrouble) -> None:
    settled = band.knots_begun or band.cut_out
    for name in ("widen", "move the stop line"):
        way = _way("clipped wrongly", band, name)
        assert not (settled and way.is_open)
    assert not (settled and _way("standing thread cut", band, "another kind").is_open)


def test_a_broken_working_thread_is_joined_on_and_a_broken_withdrawn_one_taken_up_even_late() -> None:
    late = replace(LADDER, knots_begun=True, cut_out=True, joined=True)
    assert [(way.name, way.is_open, way.work) for way in ways_out("working thread broken", late)] == [
        ("join on", True, {"fasten_off": 2})
    ]
    assert [(way.name, way.is_open, way.work) for way in ways_out("broken in withdrawing", late)] == [
        ("take up again", True, {})
    ]


def test_a_thread_woven_in_again_runs_on_past_both_ends() -> None:
    # 160 mm along the band and 20 mm past each end; 5.3 mm across it and the same
    assert _way("clipped wrongly", LADDER, "reweave").work == {"secure": 20.0, "fasten_off": 2}
    assert _way("standing thread cut", LADDER, "reweave").work == {"secure": 4.6, "fasten_off": 2}


def test_a_wider_band_withdraws_a_thread_more_in_its_mirrors_too() -> None:
    way = _way("clipped wrongly", replace(LADDER, matched=1), "widen")
    assert (way.withdrawn_threads, way.matched, way.work) == (11, True, {"withdraw": 2.0, "clip": 4.0})


def test_the_stop_line_moves_by_a_whole_bundle() -> None:
    way = _way("clipped wrongly", LADDER, "move the stop line")
    assert (way.standing_threads, way.work) == (324, {"edge_stitch": 0.6, "ladder_knot": 2.0})
    assert _way("clipped wrongly", replace(LADDER, stop_lines=0), "move the stop line").why_not


def test_a_cut_standing_thread_makes_one_bundle_smaller_and_no_work() -> None:
    way = _way("standing thread cut", LADDER, "smaller bundle")
    assert (way.standing_threads, way.work) == (319, {})


def test_another_kind_keeps_the_threads_and_changes_the_knots() -> None:
    way = _way("standing thread cut", LADDER, "another kind")
    # 80 bundles: two knots each in a ladder, one each in an alternating band
    assert (way.kind, way.work) == ("alternating", {"ladder_knot": -160.0, "alternating_knot": 80.0})
    assert not _way("standing thread cut", replace(LADDER, kind="tuck_band"), "another kind").is_open


def test_a_hem_band_may_be_bound_instead_and_what_is_left_of_it_falls_away() -> None:
    hem = replace(LADDER, kind="hem_band", left={"hem_knot": 30.0})
    bound = _way("shrunk", hem, "bind instead").work
    assert bound == {"hem_knot": -30.0, "cut_bias": 16.0, "stitch_bias": 16.0, "whip_bias": 16.0}
    assert "no edge there" in _way("shrunk", LADDER, "bind instead").why_not


def test_a_new_panel_wants_cloth_enough_and_panels_apart() -> None:
    done = replace(LADDER, panel_done={"cut_block": 1.0, "mark": 32.0})
    assert _way("stained", done, "new panel").work == {"cut_block": 1.0, "mark": 32.0}
    short = _way("stained", replace(done, cloth_on_hand_mm=350), "new panel")
    assert short.why_not == "The cloth on the shelf is 50 mm too short for another block."
    assert "sewn together" in _way("stained", replace(done, joined=True), "new panel").why_not


def test_a_tuck_is_let_down_only_where_one_is_drawn() -> None:
    assert _way("grown", replace(LADDER, tuck_length_mm=612.0), "let a tuck down").work == {"seam": 61.2, "press": 1.0}
    assert "No plain tuck" in _way("grown", LADDER, "let a tuck down").why_not


def test_what_is_no_trouble_and_what_is_no_band_are_refused_by_name() -> None:
    with pytest.raises(Wrong, match="trouble"):
        ways_out("bored", LADDER)  # type: ignore[arg-type]
    with pytest.raises(Wrong, match="kind"):
        replace(LADDER, kind="seam")
    with pytest.raises(Wrong, match="width_mm"):
        replace(LADDER, width_mm=-1.0)


def test_only_a_band_can_be_in_trouble() -> None:
    with pytest.raises(Wrong, match=r"^kind: 'seam' is no band$"):
        InTrouble("seam", 10, 322, 4, 0, 5.3, 160.4)
