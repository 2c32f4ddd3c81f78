"""The child on the day: spans, classes, refusals, and what may be said."""

import math
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime, timedelta
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.reckoning.asked import Wrong
from service.reckoning.expected import correlation, expected, value_at, z_of
from service.reckoning.fit import Fit, FitAsk, Measured, SizeClass, Span, fit_on_the_day, size_class
from service.reckoning.fit_garment import MadeFor, garment_findings
from service.reckoning.growth_tables import Lms, Sex, What, lms_on

BORN = date(2026, 1, 1)
SEXES: tuple[Sex, ...] = ("girl", "boy")
MEASURES: tuple[What, ...] = ("length", "head", "weight")
SEX = st.sampled_from(SEXES)
WHAT = st.sampled_from(MEASURES)
DAYS = st.lists(st.integers(0, 730), min_size=2, max_size=2).map(sorted)
NEVER_SAID = [
    *["normal", "behind", "centile", "average", "unusual", "healthy", "feed", "weight gain", "doctor"],
    *["too small for", "tall", "short for", "under the", "risk"],
]


def _day(number: int) -> date:
    return BORN + timedelta(days=number)


def _reading(sex: Sex, what: What, day: int, z: float) -> Measured:
    return Measured(what, value_at(lms_on(what, sex, day), z), _day(day))


def _codes(fit: Fit) -> list[str]:
    return [finding.code for finding in fit.findings]


def _spans(fit: Fit) -> list[Span]:
    return [fit.length_mm, fit.head_mm, fit.weight_g]


@given(sex=SEX, what=WHAT, day=st.integers(0, 730), z=st.floats(-4, 4))
def test_a_z_score_and_its_value_give_each_other_back(sex: Sex, what: What, day: int, z: float) -> None:
    row = lms_on(what, sex, day)

    assert z_of(row, value_at(row, z)) == pytest.approx(z, abs=1e-9)


def test_without_skew_a_value_lies_so_many_spreads_from_the_median_on_the_scale_of_ln() -> None:
    """Cole's formula where L is 0: 100 exp(0.1 × 2) = 122.14."""
    row = Lms(0, 100, 0.1)
    assert value_at(row, 2) == pytest.approx(122.1403, abs=1e-4)
    assert z_of(row, 122.1403) == pytest.approx(2, abs=1e-5)


@given(median=st.floats(1, 1e5), variation=st.floats(0.01, 0.3), z=st.floats(-3, 3))
def test_a_row_without_skew_is_the_limit_of_rows_with_little(median: float, variation: float, z: float) -> None:
    without, little = Lms(0, median, variation), Lms(1e-6, median, variation)

    assert value_at(without, z) == pytest.approx(value_at(little, z), rel=1e-5)
    assert z_of(without, value_at(without, z)) == pytest.approx(z, abs=1e-9)


@given(what=WHAT, days=DAYS)
def test_ages_are_always_related_but_never_wholly(what: What, days: list[int]) -> None:
    assert 0.3 < correlation(what, *days) <= 0.95


@given(what=WHAT, days=DAYS, z=st.floats(-3, 3))
def test_a_reading_is_drawn_toward_the_middle_and_never_widens_the_span(what: What, days: list[int], z: float) -> None:
    later = expected(what, z, *days)

    assert abs(later.z) <= abs(z)
    assert 0 < later.spread <= 1


def test_a_reading_from_long_before_leaves_the_whole_span_open() -> None:
    later = expected("length", 1, 0, 730)

    assert later.z == pytest.approx(0.374, abs=0.001)
    assert later.spread == 1


@pytest.mark.parametrize("gap", [0, 3])
def test_within_three_days_a_reading_carries_over_almost_whole(gap: int) -> None:
    assert correlation("length", 100, 100 + gap) == 0.95
    assert correlation("length", 100, 104) != 0.95


@given(sex=SEX, days=DAYS, zs=st.tuples(*[st.floats(-3, 3)] * 3))
def test_the_spans_nest_and_the_classes_hold_the_length(
    sex: Sex, days: list[int], zs: tuple[float, float, float]
) -> None:
    readings = tuple(_reading(sex, what, days[0], 0.999 * z) for what, z in zip(MEASURES, zs, strict=True))

    fit = fit_on_the_day(FitAsk(sex, BORN, _day(days[1]), readings))

    assert fit.age_days == days[1]
    for span in _spans(fit):
        assert span.allow[0] <= span.likely[0] <= span.middle <= span.likely[1] <= span.allow[1]
        assert span.allow[0] > 0
    assert fit.size.middle * 10 + 0.6 >= fit.length_mm.middle
    assert fit.size.likely_high * 10 + 0.6 >= fit.length_mm.likely[1]
    assert fit.size.middle <= fit.size.likely_high


@given(sex=SEX, days=DAYS, z=st.floats(-2.9, 2.8), more=st.floats(0.01, 0.1))
def test_a_longer_reading_never_foretells_a_shorter_child(sex: Sex, days: list[int], z: float, more: float) -> None:
    def middle(at: float) -> float:
        ask = FitAsk(sex, BORN, _day(days[1]), (_reading(sex, "length", days[0], at),))
        return fit_on_the_day(ask).length_mm.middle

    assert middle(z + more) >= middle(z)


@given(sex=SEX, day=st.integers(30, 730), weeks=st.floats(32, 36.9))
def test_an_early_baby_is_the_baby_of_its_corrected_age(sex: Sex, day: int, weeks: float) -> None:
    early_days = round((40 - weeks) * 7)
    ask = FitAsk(sex, BORN, _day(day), gestation_weeks=weeks)
    if day < early_days:
        with pytest.raises(Wrong, match="before the day this baby was due"):
            fit_on_the_day(ask)
        return

    early, term = fit_on_the_day(ask), fit_on_the_day(FitAsk(sex, BORN, _day(day - early_days)))

    assert _spans(early) == _spans(term)
    assert early.size == term.size
    assert early.age_days == day


@given(cm=st.floats(30, 110))
def test_a_class_is_the_smallest_of_the_ladder_not_below_the_length(cm: float) -> None:
    named = size_class(cm * 10)

    assert (named - 50) % 6 == 0
    assert named >= 50
    assert named * 10 >= round(cm * 10)
    assert named == 50 or (named - 6) * 10 < round(cm * 10)


def test_only_the_latest_reading_of_a_kind_counts_and_of_two_on_a_day_the_second() -> None:
    first, second = Measured("length", 600, _day(80)), Measured("length", 640, _day(120))
    ask = FitAsk("girl", BORN, _day(274), (second, first))
    again = replace(ask, measured=(first, Measured("length", 630, _day(120)), second))

    only = fit_on_the_day(replace(ask, measured=(second,)))

    assert fit_on_the_day(ask) == fit_on_the_day(again) == only


def test_a_reading_of_one_kind_leaves_the_others_as_they_were() -> None:
    ask = FitAsk("girl", BORN, _day(274))

    fit = fit_on_the_day(replace(ask, measured=(Measured("weight", 6400, _day(91)),)))

    bare = fit_on_the_day(ask)
    assert (fit.length_mm, fit.head_mm) == (bare.length_mm, bare.head_mm)
    heads = fit_on_the_day(replace(ask, measured=(Measured("head", 403, _day(91)),)))
    assert heads.head_mm == Span(444.5, (431.8, 457.2), (428.3, 460.8))
    assert fit.weight_g == Span(8742, (7709, 9937), (7443, 10309))
    assert _codes(fit) == _codes(bare)


def test_the_classes_are_named_for_the_middle_and_the_upper_end_of_what_is_likely() -> None:
    fit = fit_on_the_day(FitAsk("girl", BORN, _day(274), (Measured("length", 620, _day(91)),)))

    assert fit.length_mm == Span(720.4, (697.5, 743.2), (691.0, 749.7))
    assert fit.size == SizeClass(74, 80)
    boy = fit_on_the_day(FitAsk("boy", BORN, _day(183)))
    assert (boy.size, boy.length_mm.likely) == (SizeClass(68, 74), (649.0, 703.9))


def test_the_summary_says_what_it_is_for_and_asks_to_measure_again() -> None:
    ask = FitAsk("girl", BORN, _day(274), (Measured("length", 620, _day(91)),))

    fit = fit_on_the_day(ask)

    assert fit.findings[0].text == (
        "Likely 70 to 74 cm on the day; cut to allow for 69 to 75 cm. From WHO growth tables and how much babies vary. "
        "This is for cutting cloth, not a health check. Please measure again 3 to 4 weeks before the day."
    )
    assert _codes(fit) == ["likely", "country", "forgiving", "chest"]


def test_each_circumstance_adds_its_own_sentence() -> None:
    ask = FitAsk("girl", BORN, _day(274))
    head = (Measured("head", 403, _day(91)),)

    assert _codes(fit_on_the_day(ask)) == ["likely", "not_measured", "country", "forgiving", "chest"]
    assert "head_stand_in" in _codes(fit_on_the_day(replace(ask, measured=head)))
    due = fit_on_the_day(replace(ask, born_is_due=True))
    assert due.findings[1].text.startswith("The baby is not born yet: the day itself may move by weeks")
    early = fit_on_the_day(replace(ask, gestation_weeks=34, measured=head))
    assert _codes(early) == ["likely", "early", "country", "forgiving", "chest"]
    assert early.findings[1].text == (
        "Born early, so the age is counted from the day it was due, 42 days later; the span is that of all babies of "
        "that age. Readings are not carried over, because the tables for that know only babies born at term."
    )
    assert fit_on_the_day(replace(ask, gestation_weeks=34)).findings[1].text.endswith("of that age.")
    assert fit_on_the_day(replace(ask, gestation_weeks=37)) == fit_on_the_day(ask)


def _everything_said() -> Iterator[str]:
    readings = tuple(_reading("boy", what, 60, z) for what, z in product(MEASURES, (-2.9, 2.9)))
    asks = [
        FitAsk("boy", BORN, _day(300), readings),
        FitAsk("boy", BORN, _day(300), tuple(replace(one, on=_day(109)) for one in readings), gestation_weeks=33),
        FitAsk("boy", BORN, _day(300), born_is_due=True),
        FitAsk("boy", BORN, _day(0)),
    ]
    for ask in asks:
        fit = fit_on_the_day(ask)
        yield from (finding.text for finding in fit.findings)
        for made_for in (20, 60, 74, 76, 104):
            yield from (finding.text for finding in garment_findings(fit, MadeFor(made_for, made_for / 2)))
    for what, value in (("length", 62), ("length", 2000), ("weight", 1), ("head", 900)):
        yield _refusal(replace(asks[0], measured=(Measured(what, value, _day(60)),))).sentence  # type: ignore[arg-type]


def test_nothing_said_speaks_of_health_or_compares_the_child_with_others() -> None:
    said = list(_everything_said())

    assert len(said) > 30
    assert [(word, text) for word in NEVER_SAID for text in said if word in text.lower()] == []
    assert {text.lower().count("health") for text in said} == {0, 1}
    assert all("not a health check" in text for text in said if "health" in text.lower())


def _refusal(ask: FitAsk) -> Wrong:
    with pytest.raises(Wrong) as refused:
        fit_on_the_day(ask)
    return refused.value


GIRL = FitAsk("girl", BORN, _day(274))


@pytest.mark.parametrize(
    ("ask", "field", "sentence"),
    [
        (replace(GIRL, sex="child"), "sex", "must be girl or boy, not 'child': the tables are kept apart"),  # type: ignore[arg-type]
        (replace(GIRL, on=_day(-1)), "on", "must not come before the child is born"),
        (
            replace(GIRL, on=_day(731)),
            "on",
            "is 731 days after birth; the tables end at 730, so measure the child instead",
        ),
        (replace(GIRL, born="2026-01-01"), "born", "must be a day"),  # type: ignore[arg-type]
        (replace(GIRL, on=datetime(2026, 9, 1, 10, 0)), "on", "must be a day"),  # noqa: DTZ001
        (replace(GIRL, gestation_weeks=19), "gestation_weeks", "must be at least 20, not 19"),
        (replace(GIRL, gestation_weeks=46), "gestation_weeks", "must be at most 45, not 46"),
        (
            replace(GIRL, gestation_weeks=31.9),
            "gestation_weeks",
            "a baby born before 32 weeks is not reckoned from a table: measure near the day",
        ),
        (
            replace(GIRL, gestation_weeks=40, born_is_due=True),
            "gestation_weeks",
            "is not known before the birth: leave it out",
        ),
        (
            replace(GIRL, gestation_weeks=34, on=_day(41)),
            "on",
            "comes before the day this baby was due: the tables do not reach it, so measure near the day",
        ),
        (
            replace(GIRL, born_is_due=True, measured=(Measured("length", 620, _day(91)),)),
            "measured",
            "a baby not born yet has not been measured: leave the readings out",
        ),
    ],
)
def test_what_cannot_be_foretold_is_refused_in_a_sentence(ask: FitAsk, field: str, sentence: str) -> None:
    refused = _refusal(ask)
    assert (refused.field, refused.sentence) == (field, sentence)


@pytest.mark.parametrize(
    ("what", "value", "day", "field"),
    [
        ("length", 300, 0, "value"),
        ("length", 62, 91, "value"),
        ("length", 9000, 91, "value"),
        ("weight", 6.4, 91, "value"),
        ("head", 0, 91, "value"),
        ("head", math.nan, 91, "value"),
        ("girth", 400, 91, "what"),
        ("length", 500, -1, "on"),
        ("length", 700, 275, "on"),
    ],
)
def test_a_reading_that_cannot_be_used_is_refused_at_its_place(what: What, value: float, day: int, field: str) -> None:
    good = Measured("length", 620, _day(91))
    refused = _refusal(replace(GIRL, measured=(good, Measured(what, value, _day(day)))))
    assert refused.field == f"measured.1.{field}"


def test_a_reading_just_inside_three_spreads_is_taken_and_just_outside_asked_for_again() -> None:
    near, far = (_reading("girl", "length", 91, z) for z in (2.999, 3.001))

    assert fit_on_the_day(replace(GIRL, measured=(near,))).length_mm.middle > 701.5
    assert _refusal(replace(GIRL, measured=(far,))).sentence == (
        "cannot be reckoned with: please take this reading again, and check its unit and its day"
    )
    low, under = (_reading("girl", "weight", 91, z) for z in (-2.999, -3.001))
    assert fit_on_the_day(replace(GIRL, measured=(low,))).weight_g.middle < 8226
    assert _refusal(replace(GIRL, measured=(under,))).field == "measured.0.value"


def test_an_early_babys_reading_is_held_against_its_corrected_age() -> None:
    early = replace(GIRL, gestation_weeks=32)

    small = Measured("length", 500, _day(60))
    assert "early" in _codes(fit_on_the_day(replace(early, measured=(small,))))
    assert _refusal(replace(GIRL, measured=(small,))).field == "measured.0.value"
    assert _refusal(replace(early, measured=(replace(small, value=800),))).field == "measured.0.value"
    on_the_due_day = Measured("length", 800, _day(56))
    assert _refusal(replace(early, measured=(on_the_due_day,))).field == "measured.0.value"
    before_due = Measured("length", 400, _day(55))
    assert "early" in _codes(fit_on_the_day(replace(early, measured=(before_due,))))


def test_a_reading_says_at_which_day_it_cannot_have_been_taken() -> None:
    refused = _refusal(replace(GIRL, measured=(Measured("length", 620, "soon"),)))  # type: ignore[arg-type]
    assert (refused.field, refused.sentence) == ("measured.0.on", "must be a day")
    refused = _refusal(replace(GIRL, measured=(Measured("length", 700, _day(275)),)))
    assert refused.sentence == "must lie between the birth and the day"
    assert fit_on_the_day(replace(GIRL, measured=(Measured("length", 700, _day(274)),))).length_mm.middle < 701.5


@pytest.mark.parametrize("length", [0, -1, math.nan])
def test_a_class_needs_a_length(length: float) -> None:
    with pytest.raises(Wrong) as refused:
        size_class(length)
    assert refused.value.field == "length_mm"


@pytest.mark.parametrize("day", [-1, 731])
def test_the_tables_end_at_two_years(day: int) -> None:
    with pytest.raises(KeyError):
        lms_on("length", "girl", day)


def test_birth_and_the_last_day_are_inside() -> None:
    assert fit_on_the_day(replace(GIRL, on=BORN)).length_mm.middle == 491.5
    assert fit_on_the_day(replace(GIRL, on=_day(730))).age_days == 730
