import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.reckoning.asked import Wrong
from service.reckoning.lengths import (
    CountUnit,
    LengthUnit,
    count_in,
    in_unit,
    micrometres,
    mm_from,
    mm_of,
    per_cm_from,
)

PINT: pint.UnitRegistry[float] = pint.UnitRegistry()
SIZES = st.floats(0.001, 1e6)
LENGTH_UNITS: st.SearchStrategy[LengthUnit] = st.sampled_from(["mm", "cm", "in"])
COUNT_UNITS: st.SearchStrategy[CountUnit] = st.sampled_from(["cm", "in"])


@given(SIZES, LENGTH_UNITS)
def test_a_length_in_any_unit_agrees_with_pint(value: float, unit: LengthUnit) -> None:
    inch_safe = {"mm": "millimeter", "cm": "centimeter", "in": "inch"}[unit]
    assert mm_from(value, unit) == pytest.approx(PINT.Quantity(value, inch_safe).to("millimeter").magnitude)


@given(SIZES, COUNT_UNITS)
def test_a_count_in_any_unit_agrees_with_pint(count: float, unit: CountUnit) -> None:
    per = {"cm": "1/centimeter", "in": "1/inch"}[unit]
    assert per_cm_from(count, unit) == pytest.approx(PINT.Quantity(count, per).to("1/centimeter").magnitude)


@given(SIZES, LENGTH_UNITS)
def test_a_length_comes_back_from_its_unit(value: float, unit: LengthUnit) -> None:
    assert in_unit(mm_from(value, unit), unit) == pytest.approx(value, rel=1e-12)


@given(SIZES, COUNT_UNITS)
def test_a_count_comes_back_from_its_unit(count: float, unit: CountUnit) -> None:
    assert count_in(per_cm_from(count, unit), unit) == pytest.approx(count, rel=1e-12)


@given(st.integers(0, 10**9))
def test_whole_micrometres_come_back_exactly(length_um: int) -> None:
    assert micrometres(mm_of(length_um)) == length_um


def test_an_inch_is_kept_exactly() -> None:
    assert [micrometres(mm_from(inches, "in")) for inches in (1, 0.5, 0.25, 0.125)] == [
        25400,
        12700,
        6350,
        3175,
    ]


@pytest.mark.parametrize("length", [float("nan"), float("inf"), "2", None, True])
def test_what_is_no_number_is_refused(length: float) -> None:
    with pytest.raises(Wrong, match="length: must be a number"):
        mm_from(length, "cm")


def test_an_unknown_unit_is_refused() -> None:
    with pytest.raises(Wrong, match="unit: must be one of mm, cm, in, not 'ell'"):
        mm_from(1, "ell")  # type: ignore[arg-type]
