"""Shrinkage against printed figures."""

import pytest

from service.reckoning.shrink import cut_mm, dimensional_change_percent


def test_a_swatch_from_27_to_26_3_8_inches_changes_by_the_printed_amount() -> None:
    # W4.5, by the form of AATCC 135 and ISO 5077, 100 (B - A) / A: a sewing article, its name not kept, prints
    # "2.3 % difference" on a swatch of 27 in measuring 26 3/8 in after washing.
    assert round(dimensional_change_percent(27 * 25.4, 26.375 * 25.4), 1) == -2.3


@pytest.mark.parametrize(("shrink_percent", "printed_inches"), [(4, 1.5), (10, 3.6)])
def test_a_yard_loses_the_printed_inches(shrink_percent: float, printed_inches: float) -> None:
    # W4.6, a linen trader's page, its name not kept: 36 in of linen lose 1.5 to 3.6 in at 4 to 10 % (1.44 before rounding).
    assert cut_mm((36 - printed_inches) * 25.4, shrink_percent) / 25.4 == pytest.approx(36, abs=0.1)


def test_a_metre_after_six_per_cent_is_cut_106_38_cm() -> None:
    # W4.7, not printed: arithmetic of finished / (1 - s), worked by hand; not finished × (1 + s), which gives 106.00.
    assert round(cut_mm(1000, 6) / 10, 2) == 106.38
