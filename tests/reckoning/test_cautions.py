"""The cautions of a garment: those that apply, no others, each with its source."""

from dataclasses import replace
from datetime import date
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.reckoning.asked import Wrong
from service.reckoning.cautions import WEARERS, Part, Worn, cautions_for, parts_named, wearer_on

PARTS: tuple[Part, ...] = get_args(Part)
worn = st.builds(
    Worn,
    wearer=st.sampled_from(WEARERS),
    parts=st.frozensets(st.sampled_from(PARTS)),
    length_mm=st.one_of(st.none(), st.floats(0, 2000)),
    lightest_g_per_m2=st.one_of(st.none(), st.floats(0, 500)),
)


def _texts(asked: Worn) -> str:
    return " ".join(one.text for one in cautions_for(asked))


@given(worn)
def test_every_caution_names_its_source_and_stands_once(asked: Worn) -> None:
    found = cautions_for(asked)
    assert all(one.source and one.text.endswith(".") for one in found)
    assert len(set(found)) == len(found)


@given(worn, st.sampled_from(PARTS))
def test_a_further_part_never_takes_a_caution_away(asked: Worn, part: Part) -> None:
    more = replace(asked, parts=asked.parts | {part})
    assert set(cautions_for(asked)) <= set(cautions_for(more))


def test_a_bonnet_with_ties_for_a_baby_is_taken_off_before_sleep_and_has_short_ends() -> None:
    said = _texts(Worn("under three", parts_named(["Bonnet of fine linen", "Ties with a button each"])))
    assert "Take the bonnet off before sleep" in said
    assert "Keep every ribbon end short" in said
    assert "70 N from 6 mm" in said


def test_a_grown_woman_s_blouse_needs_none_of_a_baby_s_cautions() -> None:
    assert cautions_for(Worn("adult", parts_named(["Blouse", "Buttons, centre back"]), 620, 120)) == ()


@pytest.mark.parametrize(("g_per_m2", "told"), [(88.1, True), (88.2, False), (None, False)])
def test_cloth_lighter_than_the_us_rule_wants_a_burn_test(g_per_m2: float | None, told: bool) -> None:
    # 16 CFR 1610.1(d): 2.6 oz per square yard, 88.2 g per square metre
    assert ("tested for burning" in _texts(Worn("adult", lightest_g_per_m2=g_per_m2))) is told


@pytest.mark.parametrize(("length_mm", "told"), [(648, False), (648.1, True)])
def test_a_gown_longer_than_the_infant_exemption_is_for_wearing_awake(length_mm: float, told: bool) -> None:
    # 16 CFR 1615.1(c): one-piece infant garments at most 64.8 cm (25.75 in)
    said = _texts(Worn("under three", length_mm=length_mm))
    assert ("Longer than 64.8 cm" in said) is told
    assert ("Not for sleep" in said) is not told


@pytest.mark.parametrize(
    ("born", "wearer"),
    [
        (None, "under three"),
        (date(2027, 1, 10), "under three"),
        (date(2024, 5, 17), "under three"),
        (date(2024, 5, 16), "older child"),
        (date(2013, 5, 17), "older child"),
        (date(2013, 5, 16), "adult"),
    ],
)
def test_who_wears_it_follows_from_the_age_on_the_day(born: date | None, wearer: str) -> None:
    assert wearer_on(born, date(2027, 5, 16)) == wearer


def test_words_inside_other_words_are_no_parts() -> None:
    assert parts_named(["Chatelaine, untied hemline, placemat, embroidery bone-white"]) == {"shell"}
    assert parts_named(["Ladder above the hem"]) == frozenset()


def test_a_measure_below_zero_is_refused_by_its_name() -> None:
    with pytest.raises(Wrong, match="length_mm"):
        Worn("adult", length_mm=-1.0)
    with pytest.raises(Wrong, match="lightest_g_per_m2"):
        Worn("adult", lightest_g_per_m2=-1.0)
