"""Money: exact from end to end, whatever the currency."""

from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.reckoning.asked import Wrong
from service.reckoning.money import (
    exactly,
    half_up,
    minor_digits,
    percent_of,
    shared_out,
    up_to_step,
    written,
)


@pytest.mark.parametrize("currency", ["eur", "EURO", "E1R", "", "ÄÖÜ"])
def test_what_is_no_currency_code_is_refused(currency: str) -> None:
    with pytest.raises(Wrong) as refused:
        minor_digits(currency)
    assert refused.value.field == "currency"


@given(st.integers(-(10**15), 10**15), st.sampled_from([0, 2, 3, 4]))
def test_an_amount_is_written_with_all_its_digits(amount: int, digits: int) -> None:
    assert Fraction(written(amount, digits)) == Fraction(amount, 10**digits)


@pytest.mark.parametrize(
    ("value", "exact"),
    [
        (1.005, Fraction(201, 200)),
        (0.1, Fraction(1, 10)),
        (14.015967, Fraction(14015967, 1000000)),
        (1e-7, Fraction(1, 10**7)),
        (3, Fraction(3)),
    ],
)
def test_a_number_is_taken_as_it_is_written(value: float, exact: Fraction) -> None:
    assert exactly("hours", value) == exact


def test_a_number_that_is_none_is_refused_at_its_field() -> None:
    with pytest.raises(Wrong) as refused:
        exactly("hours_p50", float("nan"))
    assert refused.value.field == "hours_p50"


@given(st.integers(-(10**9), 10**9))
def test_halves_go_up_as_python_decimals_do(numerator: int) -> None:
    exact = Fraction(numerator, 1000)
    assert half_up(exact) == int(Decimal(numerator).scaleb(-3).quantize(Decimal(1), ROUND_HALF_UP))


def test_half_a_minor_unit_is_rounded_by_what_was_written_not_by_the_float() -> None:
    # 1.005 as a float lies below; 1.005 % of 50,000 is 502.5
    assert percent_of("margin_percent", 1.005, 50_000) == 503


@pytest.mark.parametrize("percent", [-1, 100.5, float("inf")])
def test_a_percentage_outside_nought_to_a_hundred_is_refused(percent: float) -> None:
    with pytest.raises(Wrong) as refused:
        percent_of("margin_percent", percent, 100)
    assert refused.value.field == "margin_percent"


@given(st.integers(0, 10**12), st.integers(1, 10**6))
def test_a_price_goes_up_to_the_next_step_and_no_further(amount: int, step: int) -> None:
    price = up_to_step(amount, step)
    assert price % step == 0
    assert 0 <= price - amount < step


@given(st.integers(-(10**6), 10**9), st.lists(st.integers(0, 10**6), min_size=1, max_size=20).filter(any))
def test_shares_add_up_and_each_is_within_one_of_its_part(amount: int, weights: list[int]) -> None:
    shares = shared_out(amount, [Fraction(each) for each in weights])
    assert sum(shares) == amount
    for share, weight in zip(shares, weights, strict=True):
        assert abs(share - Fraction(amount * weight, sum(weights))) < 1


@pytest.mark.parametrize("weights", [[], [Fraction(0)], [Fraction(2), Fraction(-1)]])
def test_weights_that_share_nothing_are_refused(weights: list[Fraction]) -> None:
    with pytest.raises(Wrong) as refused:
        shared_out(100, weights)
    assert refused.value.field == "weights"
