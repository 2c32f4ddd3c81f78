"""Shrinkage: what a swatch says, what to cut, and what becomes of the counts."""

import math
from collections.abc import Callable
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


@given(warp=st.floats(5, 100), weft=st.floats(5, 100), changes=st.tuples(st.floats(-50, 50), st.floats(-50, 50)))
def test_washing_keeps_the_threads_that_stand_in_a_piece(
    warp: float, weft: float, changes: tuple[float, float]
) -> None:
    after = counts_after(ClothCounts(warp, weft), *changes)

    assert after.warp_per_cm * 100 * (1 + changes[1] / 100) == pytest.approx(warp * 100)
    assert after.weft_per_cm * 100 * (1 + changes[0] / 100) == pytest.approx(weft * 100)


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
    assert found.findings[0].text == (
        "The swatch is only 300 mm long one way. The test methods ask for at least 50 × 50 cm: "
        "a millimetre misread on a small swatch is a large error on a gown."
    )
    assert found.findings[1].text == (
        "The cloth shrank 12.0 % along the warp, more than most cloth does. "
        "Wash the whole length before you cut it, and measure a second swatch."
    )


@pytest.mark.parametrize(
    ("change", "field", "sentence"),
    [
        ({"warp_before_mm": (), "warp_after_mm": ()}, "warp_before_mm", "give at least one length"),
        ({"warp_after_mm": (480,)}, "warp_after_mm", "must be as many lengths as before washing: 2, not 1"),
        ({"weft_before_mm": (500, 500)}, "weft_after_mm", "must be as many lengths as before washing: 2, not 1"),
        ({"warp_before_mm": (500, -500)}, "warp_before_mm.1", "must be above zero, not -500 mm"),
        ({"weft_after_mm": (math.nan,)}, "weft_after_mm.0", "must be a number"),
        ({"weft_after_mm": (245,)}, "weft_after_mm", "a change of -51 % cannot be right for cloth: measure again"),
        ({"weft_after_mm": (755,)}, "weft_after_mm", "a change of 51 % cannot be right for cloth: measure again"),
    ],
)
def test_a_swatch_that_cannot_be_right_is_refused_at_its_field(
    change: dict[str, object], field: str, sentence: str
) -> None:
    with pytest.raises(Wrong) as refused:
        shrink_test(replace(SWATCH, **change))  # type: ignore[arg-type]
    assert (refused.value.field, refused.value.sentence) == (field, sentence)


@pytest.mark.parametrize(
    ("after_mm", "codes"),
    [(500, []), (500.5, ["grew"]), (750, ["grew"]), (450, []), (449.9, ["shrinks_much"]), (250, ["shrinks_much"])],
)
def test_growth_and_more_than_a_tenth_lost_are_noticed(after_mm: float, codes: list[str]) -> None:
    found = shrink_test(replace(SWATCH, weft_after_mm=(after_mm,)))

    assert [finding.code for finding in found.findings] == codes


@pytest.mark.parametrize("shrink", [-0.1, 50.1, math.nan, math.inf])
def test_a_shrinkage_that_cannot_be_right_is_refused(shrink: float) -> None:
    with pytest.raises(Wrong) as refused:
        cut_mm(100, shrink)
    assert refused.value.field == "shrink_percent"


NONSENSE: list[tuple[str, Callable[[float], object]]] = [
    ("finished_mm", lambda value: cut_mm(value, 5)),
    ("before_mm", lambda value: dimensional_change_percent(value, 5)),
    ("after_mm", lambda value: dimensional_change_percent(5, value)),
    ("warp_per_cm", lambda value: recount_findings(ClothCounts(20, 20), ClothCounts(value, 20))),
    ("weft_per_cm", lambda value: recount_findings(ClothCounts(20, 20), ClothCounts(20, value))),
]


@pytest.mark.parametrize(("field", "call"), NONSENSE, ids=lambda case: case if isinstance(case, str) else "")
@pytest.mark.parametrize("value", [0, -1, math.nan])
def test_lengths_and_counts_are_above_zero(field: str, call: Callable[[float], object], value: float) -> None:
    with pytest.raises(Wrong) as refused:
        call(value)
    assert refused.value.field == field


@pytest.mark.parametrize("change", [-50.1, 50.1, math.nan])
@pytest.mark.parametrize("field", ["warp_change_percent", "weft_change_percent"])
def test_counts_do_not_follow_a_change_no_cloth_makes(field: str, change: float) -> None:
    changes = {"warp_change_percent": 0.0, "weft_change_percent": 0.0, field: change}
    with pytest.raises(Wrong) as refused:
        counts_after(ClothCounts(20, 18), **changes)
    assert refused.value.field == field


def test_a_garment_planned_on_old_counts_is_told_which_way_is_off() -> None:
    found = recount_findings(ClothCounts(20, 18.5), ClothCounts(20.05, 19.5))

    (finding,) = found
    assert finding.code == "weft_recounted"
    assert finding.text == (
        "This was planned on 18.5 weft threads per cm; the cloth now counts 19.5 per cm. "
        "Over 10 cm that is 10 threads: carry the counts over again before marking."
    )


@pytest.mark.parametrize(("now", "findings"), [(20.09, 0), (20.1, 2), (19.9, 2), (19.91, 0)])
def test_a_thread_in_ten_centimetres_is_noticed(now: float, findings: int) -> None:
    assert len(recount_findings(ClothCounts(20, 20), ClothCounts(now, now))) == findings
