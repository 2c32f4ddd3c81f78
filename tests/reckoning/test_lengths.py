import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.reckoning.asked import Wrong
from service.reckoning.lengths import CountUnit, count_in, per_cm_from

PINT: pint.UnitRegistry[float] = pint.UnitRegistry()
COUNTS = st.floats(0.001, 1e6)
UNITS: st.SearchStrategy[CountUnit] = st.sampled_from(["cm", "in"])


@given(COUNTS, UNITS)
def test_a_count_in_either_unit_agrees_with_pint(count: float, unit: CountUnit) -> None:
    per = {"cm": "1/centimeter", "in": "1/inch"}[unit]
    assert per_cm_from(count, unit) == pytest.approx(PINT.Quantity(count, per).to("1/centimeter").magnitude)


@given(COUNTS, UNITS)
def test_a_count_comes_back_from_its_unit(count: float, unit: CountUnit) -> None:
    assert count_in(per_cm_from(count, unit), unit) == pytest.approx(count, rel=1e-12)


@pytest.mark.parametrize("count", [float("nan"), float("inf"), "2", None, True])
def test_what_is_no_number_is_refused(count: float) -> None:
    with pytest.raises(Wrong, match="count: must be a number"):
        per_cm_from(count, "cm")


def test_an_unknown_unit_is_refused() -> None:
    with pytest.raises(Wrong, match="unit: must be cm or in, not 'ell'"):
        count_in(1, "ell")  # type: ignore[arg-type]
