"""Learning curves against published tables.

Wright's cumulative average: Wideman, appendix 2 (seen as an excerpt); its last increment is a misprint there, 254.76 for
245.76. Crawford's unit curve: a published solutions manual, chapter 13 (seen as an excerpt), all recomputed.
"""

import pytest

from service.reckoning.asked import Wrong
from service.reckoning.learning import average_factor, crawford_total, crawford_unit, exponent, wright_average


def test_wrights_averages_at_eighty_per_cent() -> None:
    # W6.2 (Wideman): averages after 1, 2, 4, 8, 16 units, their totals and increments
    averages = [wright_average(0.8, 100, units) for units in (1, 2, 4, 8, 16)]
    assert averages == pytest.approx([100, 80, 64, 51.2, 40.96])
    totals = [average * units for average, units in zip(averages, (1, 2, 4, 8, 16), strict=True)]
    assert totals == pytest.approx([100, 160, 256, 409.6, 655.36])
    assert totals[4] - totals[3] == pytest.approx(245.76)


def test_crawfords_units_at_eighty_per_cent() -> None:
    # W6.3 (solutions manual): the fifth unit; the first five printed as 1,121.4 from the rounded factor 3.738
    assert crawford_unit(0.8, 300, 5) == pytest.approx(178.7, abs=0.05)
    assert crawford_total(0.8, 300, 5) == pytest.approx(1121.3, abs=0.05)
    assert crawford_total(0.8, 300, 18) == pytest.approx(2914.8, abs=0.15)  # printed factor 9.716


@pytest.mark.parametrize(("unit", "printed"), [(2, 63.75), (4, 54.23), (8, 46.05)])
def test_crawfords_units_at_eighty_five_per_cent(unit: int, printed: float) -> None:
    # W6.4 (solutions manual): printed with factors rounded to three places
    assert crawford_unit(0.85, 75, unit) == pytest.approx(printed, abs=0.05)


def test_four_times_as_many_cost_over_a_third_less_each_at_eighty_per_cent() -> None:
    # W6.5, printed: 36 %
    assert 1 - wright_average(0.8, 1, 4) == pytest.approx(0.36)


def test_the_exponent_of_eighty_per_cent() -> None:
    # printed: -0.321928
    assert exponent(0.8) == pytest.approx(0.321928, abs=5e-7)


def test_the_average_factor_is_the_sum_of_crawfords_units() -> None:
    summed = sum(crawford_unit(0.95, 1, unit) for unit in range(201, 501)) / 300
    assert average_factor(0.95, done=200, to_do=300, reference=1) == pytest.approx(summed, rel=1e-6)


def test_no_credit_is_given_beyond_five_times_what_was_done() -> None:
    credited = [min(unit, 500.5) for unit in range(101, 1101)]
    summed = sum(crawford_unit(0.9, 1, unit) for unit in credited) / 1000
    assert average_factor(0.9, done=100, to_do=1000, reference=1) == pytest.approx(summed, rel=1e-5)


@pytest.mark.parametrize("rate", [0.0, -0.8, 1.2])
def test_a_rate_that_is_no_share_is_refused(rate: float) -> None:
    with pytest.raises(Wrong, match="rate"):
        exponent(rate)


def test_a_curve_too_steep_to_sum_is_refused() -> None:
    with pytest.raises(Wrong, match=r"above 0\.5"):
        average_factor(0.5, done=1, to_do=1, reference=1)
