"""Shrinkage: what a swatch says, what to cut, and what becomes of the counts."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.reckoning.asked import Wrong
from service.reckoning.designs import ClothCounts
from service.reckoning.shrink import (
    Swatch,
    counts_after,
    cut_mm,
    dimensional_change_percent,
    recount_findings,
    shrink_test,
)

LENGTHS = st.floats(1, 10_000)
SWATCH = Swatch((500, 500), (470, 480), (500,), (495,))


@given(finished=LENGTHS, shrink=st.floats(0, 50))
def test_what_is_cut_shrinks_to_what_was_wanted(finished: float, shrink: float) -> None:
    cut = cut_mm(finished, shrink)

    assert cut >= finished
    assert cut * (1 - shrink / 100) == pytest.approx(finished)


@given(before=LENGTHS, change=st.floats(-50, 50))
def test_the_change_is_what_was_lost_or_gained_of_the_length_before(before: float, change: float) -> None:
    after = before * (1 + change / 100)

    assert dimensional_change_percent(before, after) == pytest.approx(change, abs=1e-9)


@given(before=st.tuples(LENGTHS, LENGTHS), change=st.floats(-50, 50))
def test_washing_keeps_the_threads_that_stand_in_a_piece(before: tuple[float, float], change: float) -> None:
    counts = ClothCounts(before[0] / 1000 + 5, before[1] / 1000 + 5)

    after = counts_after(counts, warp_change_percent=change, weft_change_percent=0)

    assert after.warp_per_cm == counts.warp_per_cm
    assert after.weft_per_cm * 100 * (1 + change / 100) == pytest.approx(counts.weft_per_cm * 100)


@given(
    shrink_warp=st.floats(0, 40),
    shrink_weft=st.floats(0, 40),
    lengths=st.lists(st.floats(500, 1000), min_size=1, max_size=4).map(tuple),
)
def test_a_swatch_gives_back_the_shrinkage_it_was_made_with(
    shrink_warp: float,
    shrink_weft: float,
    lengths: tuple[float, ...],
) -> None:
    warp_after = tuple(length * (1 - shrink_warp / 100) for length in lengths)
    weft_after = tuple(length * (1 - shrink_weft / 100) for length in lengths)

    found = shrink_test(Swatch(lengths, warp_after, lengths, weft_after))

    assert found.shrink_warp_percent == pytest.approx(shrink_warp, abs=1e-9)
    assert found.shrink_weft_percent == pytest.approx(shrink_weft, abs=1e-9)
    assert found.warp_change_percent == pytest.approx(-shrink_warp, abs=1e-9)


def test_the_two_ways_are_averaged_apart() -> None:
    found = shrink_test(SWATCH)

    assert found.warp_change_percent == -5
    assert found.weft_change_percent == -1
    assert (found.shrink_warp_percent, found.shrink_weft_percent) == (5, 1)
    assert found.findings == ()


def test_a_cloth_that_grew_is_cut_at_its_finished_size_and_said_so() -> None:
    found = shrink_test(replace(SWATCH, weft_after_mm=(510,)))

    assert found.weft_change_percent == 2
    assert found.shrink_weft_percent == 0
    assert [finding.text for finding in found.findings] == [
        "The cloth grew 2.0 % along the weft. Nothing is added for that way; press and measure again before you trust it."
    ]


def test_a_small_swatch_and_much_shrinkage_are_said_so() -> None:
    found = shrink_test(Swatch((300,), (264,), (500,), (450,)))

    assert [finding.code for finding in found.findings] == ["small_swatch", "shrinks_much"]
    assert found.findings[0].text.startswith("The swatch is only 300 mm long one way.")
    assert found.findings[1].text.startswith("The cloth shrank 12.0 % along the warp")


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"warp_before_mm": (), "warp_after_mm": ()}, "warp_before_mm"),
        ({"warp_after_mm": (480,)}, "warp_after_mm"),
        ({"weft_before_mm": (500, 500)}, "weft_after_mm"),
        ({"warp_before_mm": (500, -500)}, "warp_before_mm.1"),
        ({"weft_after_mm": (math.nan,)}, "weft_after_mm.0"),
        ({"weft_after_mm": (240,)}, "weft_after_mm"),
        ({"weft_after_mm": (760,)}, "weft_after_mm"),
    ],
)
def test_a_swatch_that_cannot_be_right_is_refused_at_its_field(change: dict[str, object], field: str) -> None:
    with pytest.raises(Wrong) as refused:
        shrink_test(replace(SWATCH, **change))  # type: ignore[arg-type]
    assert refused.value.field == field


@pytest.mark.parametrize("shrink", [-0.1, 50.1, math.nan, math.inf])
def test_a_shrinkage_that_cannot_be_right_is_refused(shrink: float) -> None:
    with pytest.raises(Wrong) as refused:
        cut_mm(100, shrink)
    assert refused.value.field == "shrink_percent"


@pytest.mark.parametrize("length", [0, -1, math.nan])
def test_lengths_are_above_zero(length: float) -> None:
    with pytest.raises(Wrong, match="finished_mm"):
        cut_mm(length, 5)
    with pytest.raises(Wrong, match="before_mm"):
        dimensional_change_percent(length, 5)
    with pytest.raises(Wrong, match="after_mm"):
        dimensional_change_percent(5, length)


@pytest.mark.parametrize("change", [-51, 51, math.nan])
def test_counts_do_not_follow_a_change_no_cloth_makes(change: float) -> None:
    with pytest.raises(Wrong, match="warp_change_percent"):
        counts_after(ClothCounts(20, 18), change, 0)
    with pytest.raises(Wrong, match="weft_change_percent"):
        counts_after(ClothCounts(20, 18), 0, change)


def test_a_garment_planned_on_old_counts_is_told_which_way_is_off() -> None:
    found = recount_findings(ClothCounts(20, 18.5), ClothCounts(20.05, 19.5))

    (finding,) = found
    assert finding.code == "weft_recounted"
    assert finding.text == (
        "This was planned on 18.5 weft threads per cm; the cloth now counts 19.5. "
        "Over 10 cm that is 10 threads: carry the counts over again before marking."
    )


@pytest.mark.parametrize(("now", "findings"), [(20.09, 0), (20.1, 2), (19.9, 2), (19.91, 0)])
def test_a_thread_in_ten_centimetres_is_noticed(now: float, findings: int) -> None:
    assert len(recount_findings(ClothCounts(20, 20), ClothCounts(now, now))) == findings
