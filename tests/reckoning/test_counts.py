import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.reckoning.asked import Wrong
from service.reckoning.counts import (
    Conversion,
    Reading,
    convert,
    count_of,
    distance_asked,
    findings_of,
    threads_in,
    width_of,
)

COUNTS = st.floats(1, 100)
THREADS = st.integers(1, 10_000)
WIDTHS = st.floats(0.01, 10_000)
READINGS = st.builds(Reading, st.integers(20, 400), st.floats(10, 200))


def test_the_count_is_the_mean_of_the_places_not_of_the_threads() -> None:
    count = count_of([Reading(20, 10), Reading(190, 100)])
    assert (count.threads_per_cm, count.places) == (19.5, 2)


def test_one_place_has_no_spread() -> None:
    count = count_of([Reading(100, 50)])
    assert (count.threads_per_cm, count.sd_per_cm, count.cv_percent) == (20.0, 0.0, 0.0)


def test_a_count_over_any_length_is_told_per_inch_too() -> None:
    assert count_of([Reading(80, 40)] * 5).threads_per_inch == pytest.approx(50.8)


def test_the_spread_is_told_in_threads_and_in_percent() -> None:
    count = count_of([Reading(18, 10), Reading(20, 10), Reading(22, 10)])
    assert [count.sd_per_cm, count.cv_percent] == pytest.approx([2.0, 10.0])


@given(st.lists(READINGS, min_size=1, max_size=30))
def test_the_count_lies_between_its_places(readings: list[Reading]) -> None:
    places = [reading.threads * 10 / reading.over_mm for reading in readings]
    count = count_of(readings)
    assert min(places) - 1e-9 <= count.threads_per_cm <= max(places) + 1e-9
    assert count.cv_percent * count.threads_per_cm / 100 == pytest.approx(count.sd_per_cm)
    assert count.sd_per_cm == pytest.approx(statistics.stdev(places) if len(places) > 1 else 0)


@pytest.mark.parametrize(
    ("readings", "codes"),
    [
        pytest.param([Reading(100, 50)] * 5, [], id="five places over 5 cm"),
        pytest.param([Reading(100, 50)] * 4, ["few_places"], id="four places"),
        pytest.param([Reading(40, 20)] * 5, ["short_distance"], id="over 2 cm"),
        pytest.param([*[Reading(100, 50)] * 4, Reading(120, 50)], ["wide_spread"], id="one place far off"),
        pytest.param(
            [Reading(20, 10), Reading(30, 10)], ["few_places", "short_distance", "wide_spread"], id="all three"
        ),
    ],
)
def test_a_hasty_count_is_told(readings: list[Reading], codes: list[str]) -> None:
    assert [finding.code for finding in findings_of(readings)] == codes


@pytest.mark.parametrize(
    ("threads_per_cm", "over_mm"), [(9.9, 100), (10, 50), (24.9, 50), (25, 30), (39.9, 30), (40, 20), (90, 20)]
)
def test_a_coarse_cloth_is_counted_over_more_of_it(threads_per_cm: float, over_mm: float) -> None:
    assert distance_asked(threads_per_cm) == over_mm


@given(WIDTHS, COUNTS)
def test_a_width_comes_back_from_its_threads_within_half_a_thread(width_mm: float, count: float) -> None:
    assert abs(width_of(threads_in(width_mm, count), count) - width_mm) <= width_of(1, count) * (0.5 + 1e-6)


@given(THREADS, COUNTS)
def test_threads_come_back_exactly_from_their_width(threads: int, count: float) -> None:
    assert threads_in(width_of(threads, count), count) == threads


def test_half_a_thread_is_counted_up() -> None:
    assert [threads_in(width_mm, 20) for width_mm in (0.24, 0.25, 0.74, 0.75, 1.25)] == [0, 1, 1, 2, 3]


@given(THREADS, COUNTS, COUNTS)
def test_threads_carried_to_another_cloth_are_off_by_half_a_thread_at_most(
    threads: int, designed_on: float, made_on: float
) -> None:
    carried = convert(threads=threads, from_threads_per_cm=designed_on, to_threads_per_cm=made_on)
    assert abs(carried.error_mm) <= width_of(1, made_on) * (0.5 + 1e-6)
    assert carried.error_mm == carried.actual_width_mm - carried.width_mm
    assert carried.actual_width_mm == width_of(carried.threads, made_on)


@given(THREADS, COUNTS, COUNTS)
def test_threads_carried_to_a_finer_cloth_and_back_are_the_same(threads: int, one: float, other: float) -> None:
    coarse, fine = sorted((one, other))
    there = convert(threads=threads, from_threads_per_cm=coarse, to_threads_per_cm=fine)
    back = convert(threads=there.threads, from_threads_per_cm=fine, to_threads_per_cm=coarse)
    assert abs(back.threads - threads) <= (1 if coarse == fine or fine / coarse < 1.000001 else 0)


@given(WIDTHS, COUNTS)
def test_a_width_carried_to_a_cloth_is_the_nearest_whole_threads(width_mm: float, count: float) -> None:
    carried = convert(width_mm=width_mm, to_threads_per_cm=count)
    assert (carried.width_mm, carried.threads) == (width_mm, threads_in(width_mm, count))


def test_an_even_conversion_has_no_error() -> None:
    assert convert(threads=20, from_threads_per_cm=10, to_threads_per_cm=20) == Conversion(20.0, 40, 20.0, 0.0)


@pytest.mark.parametrize(
    ("asked", "field"),
    [
        ({"threads": 18, "width_mm": 9, "from_threads_per_cm": 20}, "threads"),
        ({"from_threads_per_cm": 20}, "threads"),
        ({"threads": 18}, "from_threads_per_cm"),
        ({"threads": 0, "from_threads_per_cm": 20}, "threads"),
        ({"threads": 1.5, "from_threads_per_cm": 20}, "threads"),
        ({"threads": -3, "from_threads_per_cm": 20}, "threads"),
        ({"threads": 18, "from_threads_per_cm": 0}, "from_threads_per_cm"),
        ({"width_mm": 9, "from_threads_per_cm": float("nan")}, "from_threads_per_cm"),
        ({"width_mm": 0}, "width_mm"),
        ({"width_mm": float("inf")}, "width_mm"),
        ({"width_mm": "9"}, "width_mm"),
        ({"width_mm": 1e9}, "width_mm"),
        ({"threads": 1_000_000, "from_threads_per_cm": 10}, "threads"),
        ({"width_mm": 9, "to_threads_per_cm": 0}, "to_threads_per_cm"),
        ({"width_mm": 9, "to_threads_per_cm": 5000}, "to_threads_per_cm"),
    ],
)
def test_a_conversion_names_the_field_it_cannot_use(asked: dict[str, float], field: str) -> None:
    with pytest.raises(Wrong) as refused:
        convert(**{"to_threads_per_cm": 20.0} | asked)  # type: ignore[arg-type]
    assert refused.value.field == field


@pytest.mark.parametrize(
    ("readings", "field"),
    [
        ([], "readings"),
        ([Reading(100, 50)] * 1001, "readings"),
        ([Reading(100, 50), Reading(0, 50)], "readings.1.threads"),
        ([Reading(100, 0)], "readings.0.over_mm"),
        ([Reading(100, float("nan"))], "readings.0.over_mm"),
        ([Reading(100_000, 1)], "readings.0.threads"),
    ],
)
def test_a_count_names_the_reading_it_cannot_use(readings: list[Reading], field: str) -> None:
    with pytest.raises(Wrong) as refused:
        count_of(readings)
    assert refused.value.field == field
