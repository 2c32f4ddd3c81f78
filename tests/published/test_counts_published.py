"""Counts and conversions against printed figures; the inch is 25.4 mm exactly (international yard, 1959)."""

from typing import NamedTuple

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.reckoning.counts import Reading, convert, count_of, width_of
from service.reckoning.lengths import count_in, per_cm_from

PINT: pint.UnitRegistry[float] = pint.UnitRegistry()


class Printed(NamedTuple):
    per_cm: float
    per_inch: float
    to: float


PER_INCH = {
    "linen warp 20 per cm = 50.8, as L. Happel (whitework linens, web) prints it": Printed(20, 50.80, 0.005),
    "linen weft 18 per cm = 45.7, as L. Happel (whitework linens, web) prints it": Printed(18, 45.72, 0.005),
    "evenweave 12.6 per cm, arithmetic of the exact inch": Printed(12.6, 32.004, 0.0005),
    "38-count linen, arithmetic of the exact inch": Printed(14.961, 38, 0.002),
    "76 to the inch, arithmetic of the exact inch": Printed(29.921, 76, 0.002),
}


@pytest.mark.parametrize("printed", PER_INCH.values(), ids=PER_INCH.keys())
def test_a_count_per_cm_is_its_printed_count_per_inch(printed: Printed) -> None:
    assert count_in(printed.per_cm, "in") == pytest.approx(printed.per_inch, abs=printed.to)
    assert per_cm_from(printed.per_inch, "in") == pytest.approx(printed.per_cm, abs=printed.to)


@pytest.mark.parametrize(
    ("in_quarter_inch", "per_inch"),
    [
        pytest.param(20, 80, id="Dooley, Textiles, 1910: the quarter-inch glass, times four"),
        pytest.param(13, 52, id="Encyclopaedia Britannica, 11th ed., vol. 7, Cotton: printing cloth 13 a quarter inch"),
    ],
)
def test_a_quarter_inch_glass_reads_a_quarter_of_the_count(in_quarter_inch: int, per_inch: float) -> None:
    assert count_of([Reading(in_quarter_inch, 6.35)]).threads_per_inch == pytest.approx(per_inch)


@given(st.integers(1, 400), st.floats(1, 100), st.floats(1, 100))
def test_carrying_threads_agrees_with_pint(threads: int, designed_on: float, made_on: float) -> None:
    width = threads / PINT.Quantity(designed_on, "1/centimeter")
    carried = convert(threads=threads, from_threads_per_cm=designed_on, to_threads_per_cm=made_on)
    assert carried.width_mm == pytest.approx(width.to("millimeter").magnitude)
    exact = (width * PINT.Quantity(made_on, "1/centimeter")).to("dimensionless").magnitude
    assert abs(carried.threads - exact) <= 0.5 + 1e-6


# Dillmont, Encyclopedia of Needlework, fig. 71 withdraws 16 to 18 threads; what they measure on cloth of
# 50 and of 76 threads to the inch is worked out here by hand from the exact inch.
def test_eighteen_threads_at_fifty_to_the_inch_measure_9_144_mm() -> None:
    assert width_of(18, per_cm_from(50, "in")) == pytest.approx(9.144, abs=1e-9)
    assert width_of(18, per_cm_from(76, "in")) == pytest.approx(6.016, abs=0.0005)


def test_keeping_that_width_at_seventy_six_to_the_inch_takes_27_threads() -> None:
    carried = convert(threads=18, from_threads_per_cm=per_cm_from(50, "in"), to_threads_per_cm=per_cm_from(76, "in"))
    assert carried.threads == 27
    assert carried.actual_width_mm == pytest.approx(9.024, abs=0.0005)
    assert carried.error_mm == pytest.approx(-0.120, abs=0.0005)
