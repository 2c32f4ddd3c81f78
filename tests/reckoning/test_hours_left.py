"""Hours left of pieces, the day and the chance that follow, against the draws themselves and plain arithmetic."""

import math
from datetime import date, timedelta

import numpy as np
import pytest

from service.reckoning.draws import draw
from service.reckoning.forecast import drawn_hours
from service.reckoning.hours_left import NOTHING_LEFT, HoursLeft, days_of, hours_left, outlook
from service.reckoning.rates_fit import fit
from tests.reckoning.golden_log import GARMENT, LOG, REST_OF_P1, stretches

TOLD = draw(fit(LOG), ["P1"])
TODAY = date(2027, 5, 8)
EVEN = HoursLeft(np.linspace(5.1, 14.9, 99))  # 5 to 15 hours, one as likely as another


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
    assert (found[1].is_none, found[2].is_none, EVEN.is_none) == (True, True, False)
    assert hours_left(TOLD, {}) == {}


def test_a_record_of_missed_ranges_widens_them_around_the_middle() -> None:
    work = {1: stretches(GARMENT, "Ada")}
    plain, wide = hours_left(TOLD, work)[1], hours_left(TOLD, work, kappa=1.5)[1]
    assert wide.at(50) == pytest.approx(plain.at(50), rel=1e-3)
    assert math.log(wide.at(90) / wide.at(50)) == pytest.approx(1.5 * math.log(plain.at(90) / plain.at(50)), rel=1e-2)


@pytest.mark.parametrize(
    ("ready_in", "chance"),
    [(-1, 0.01), (0, 0.01), (4, 0.1), (7, 0.55), (9, 0.85), (90, 0.99)],
)
def test_the_chance_is_that_the_hours_until_the_day_are_enough(ready_in: int, chance: float) -> None:
    found = outlook(EVEN, TODAY + timedelta(ready_in), TODAY, 90)
    assert found.chance_in_time == pytest.approx(chance, abs=1e-9)
    assert (found.hours_p50, found.hours_p80) == pytest.approx((10, 13))
    assert found.expected == TODAY + timedelta(7)


@pytest.mark.parametrize(("ready_in", "chance"), [(-1, 0.01), (0, 0.99), (5, 0.99)])
def test_nothing_left_is_ready_today(ready_in: int, chance: float) -> None:
    found = outlook(NOTHING_LEFT, TODAY + timedelta(ready_in), TODAY, 90)
    assert (found.expected, found.chance_in_time, found.hours_p80) == (TODAY, chance, 0)


def test_days_have_an_end() -> None:
    assert days_of(10**15, 1) == 100_000


@pytest.mark.parametrize("minutes", [0, 1441, 1.5])
def test_a_day_of_no_minutes_or_too_many_is_refused(minutes: float) -> None:
    with pytest.raises(ValueError, match="minutes_a_day"):
        days_of(1, minutes)  # type: ignore[arg-type]
