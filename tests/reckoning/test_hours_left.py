"""Hours left of pieces against the draws themselves, and usual days against plain arithmetic."""

import math

import numpy as np
import pytest

from service.reckoning.draws import draw
from service.reckoning.forecast import drawn_hours
from service.reckoning.hours_left import days_of, hours_left
from service.reckoning.rates_fit import fit
from tests.reckoning.golden_log import GARMENT, LOG, REST_OF_P1, stretches

TOLD = draw(fit(LOG), ["P1"])


def test_hours_left_of_a_piece_are_those_of_its_draws() -> None:
    work = {1: stretches(GARMENT, "Ada"), 2: stretches(REST_OF_P1, "Bea", garment="P1")}
    found = hours_left(TOLD, work)
    for number, piece in work.items():
        hours = drawn_hours(TOLD, piece).sum(axis=0)
        assert [found[number].at(each) for each in (10, 50, 80, 90)] == pytest.approx(
            [float(np.quantile(hours, each)) for each in (0.1, 0.5, 0.8, 0.9)]
        )


def test_one_piece_does_not_move_another() -> None:
    alone = hours_left(TOLD, {1: stretches(GARMENT, "Ada")})[1]
    beside = hours_left(TOLD, {7: stretches(REST_OF_P1, "Bea", garment="P1"), 1: stretches(GARMENT, "Ada")})[1]
    assert alone.hundredths.tolist() == beside.hundredths.tolist()


def test_a_piece_without_work_left_has_none() -> None:
    found = hours_left(TOLD, {1: [], 2: stretches((("press", 0),), "Ada")})
    assert (found[1].is_none, found[2].is_none) == (True, True)
    assert hours_left(TOLD, {}) == {}


def test_a_record_of_missed_ranges_widens_them_around_the_middle() -> None:
    work = {1: stretches(GARMENT, "Ada")}
    plain, wide = hours_left(TOLD, work)[1], hours_left(TOLD, work, kappa=1.5)[1]
    assert wide.at(50) == pytest.approx(plain.at(50), rel=1e-3)
    assert math.log(wide.at(90) / wide.at(50)) == pytest.approx(1.5 * math.log(plain.at(90) / plain.at(50)), rel=1e-2)


def test_days_have_an_end() -> None:
    assert days_of(10**15, 1) == 100_000


@pytest.mark.parametrize("minutes", [0, 1441, 1.5])
def test_a_day_of_no_minutes_or_too_many_is_refused(minutes: float) -> None:
    with pytest.raises(ValueError, match="minutes_a_day"):
        days_of(1, minutes)  # type: ignore[arg-type]
