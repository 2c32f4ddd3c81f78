"""A finished piece looked back on: only the days before it may speak, and only the hours logged count as taken."""

from dataclasses import replace
from datetime import timedelta

import pytest

from service.reckoning.asked import Wrong
from service.reckoning.draws import draw
from service.reckoning.forecast import drawn_hours
from service.reckoning.hindsight import begun_on, hindsight
from service.reckoning.hours import Line, Stretch, hours_range
from service.reckoning.rates import Guess, LoggedWork, Prior
from service.reckoning.rates_fit import fit
from tests.reckoning.golden_log import CORRECTED, FIRST_DAY

LATER = FIRST_DAY + timedelta(60)
NEW = (
    LoggedWork(LATER, "Ada", "ladder_knot", 20, "P9", 200, 80),
    LoggedWork(LATER + timedelta(1), "Ada", "ladder_knot", 20, "P9", 200, 70),
    LoggedWork(LATER + timedelta(2), "Bea", "press", 20, "P9", 2, 15),
)


def test_what_was_foreseen_is_the_range_of_the_same_work_before_it_was_begun() -> None:
    found = hindsight([*CORRECTED, *NEW], "P9")
    stretches = [
        Stretch("P9 Ada", (Line("ladder_knot", 400, 20),), "Ada"),
        Stretch("P9 Bea", (Line("press", 2, 20),), "Bea"),
    ]
    foreseen = hours_range(drawn_hours(draw(fit(CORRECTED)), stretches).sum(axis=0))
    assert found.actual_hours == pytest.approx(165 / 60)
    assert (found.p10_hours, found.median_hours, found.p90_hours) == (foreseen.p10, foreseen.p50, foreseen.p90)


def test_what_a_piece_took_does_not_move_what_was_foreseen_for_it() -> None:
    slow = [replace(entry, minutes=entry.minutes * 3) for entry in NEW]
    usual, slower = hindsight([*CORRECTED, *NEW], "P9"), hindsight([*CORRECTED, *slow], "P9")
    assert slower.actual_hours == pytest.approx(3 * usual.actual_hours)
    assert slower.p90_hours == usual.p90_hours


def test_the_days_of_its_own_work_teach_it_nothing() -> None:
    beside = LoggedWork(LATER, "Ada", "ladder_knot", 20, "P8", 100, 300)
    assert hindsight([*CORRECTED, *NEW, beside], "P9") == hindsight([*CORRECTED, *NEW], "P9")


def test_the_first_piece_of_all_has_only_the_guesses() -> None:
    found = hindsight(NEW, "P9")
    assert found.p90_hours / found.p10_hours > 2


def test_a_piece_without_a_log_is_not_looked_back_on() -> None:
    assert begun_on(CORRECTED, "P9") is None
    with pytest.raises(Wrong, match="nothing logged"):
        hindsight(CORRECTED, "P9")


def test_what_was_guessed_at_the_time_is_what_was_foreseen() -> None:
    doubled = Prior({name: Guess(2 * guess.seconds, guess.exposure) for name, guess in Prior().guesses.items()})
    stated, slower = hindsight(NEW, "P9"), hindsight(NEW, "P9", doubled)
    assert slower.actual_hours == stated.actual_hours
    assert 1.7 < slower.median_hours / stated.median_hours < 2
