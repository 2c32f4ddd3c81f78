"""A trial of ten minutes: what it narrows, held against the fit itself with the trial really logged."""

import math
from datetime import timedelta
from statistics import NormalDist

import numpy as np
import pytest

from service.reckoning.asked import Wrong
from service.reckoning.closed_form import closed_form
from service.reckoning.hours import Line, Stretch
from service.reckoning.paces import Wanted, expected
from service.reckoning.rates import LoggedWork, Pace, noise_of
from service.reckoning.rates_fit import fit
from service.reckoning.trial import trials
from tests.reckoning.golden_log import CORRECTED, FIRST_DAY, GARMENT

KNOWN = fit(CORRECTED)
LATER = FIRST_DAY + timedelta(60)


def work(who: str = "Ada", cloth: float = 24) -> list[Stretch]:
    return [Stretch(f"one {name}", (Line(name, units, cloth),), who) for name, units in GARMENT]


def left_after(pace: Pace, who: str) -> float:
    """What the fit itself leaves of the spread once the trial is logged, over nine ways in which it may turn out."""
    told = expected(KNOWN, [Wanted(pace, "scrap")])
    noise = float(noise_of(KNOWN.prior, np.array([10.0]))[0])
    off = math.sqrt(float(told.covariance[0, 0]) + KNOWN.mean_noise * noise)
    units, before = 600 / math.exp(float(told.mean[0])), closed_form(KNOWN, work(who)).ln_sd
    squares = []
    for outcome in range(9):
        minutes = 10 * math.exp(off * NormalDist().inv_cdf((outcome + 0.5) / 9)) + KNOWN.prior.setup_minutes
        entry = LoggedWork(LATER, pace.stitcher, pace.operation, pace.threads_per_cm, "scrap", units, minutes)
        squares.append((closed_form(fit([*CORRECTED, entry]), work(who)).ln_sd / before) ** 2)
    return math.sqrt(sum(squares) / len(squares))


def test_every_work_that_can_be_tried_is_ranked_and_all_narrow() -> None:
    found = trials(KNOWN, work())
    assert sorted(each.pace.operation for each in found) == sorted(name for name, _ in GARMENT if name != "press")
    assert [each.left for each in found] == sorted(each.left for each in found)
    assert all(0 < each.left < 1 for each in found)


@pytest.mark.parametrize("who", ["Ada", "Dora"])
@pytest.mark.parametrize("place", [0, -1])
def test_the_fit_with_the_trial_really_logged_narrows_by_as_much(who: str, place: int) -> None:
    """The fit also learns of its noise and its spreads, which a trial's worth leaves out: two points of a hundred."""
    trial = trials(KNOWN, work(who))[place]
    assert trial.left == pytest.approx(left_after(trial.pace, who), abs=0.02)


def test_somebody_unknown_learns_most_from_a_trial() -> None:
    known, unknown = trials(KNOWN, work("Ada"))[0], trials(KNOWN, work("Dora"))[0]
    assert unknown.left < known.left


def test_work_nobody_logged_is_worth_more_of_a_trial_than_work_logged_often() -> None:
    even = [Stretch(name, (Line(name, 300, 24),), "Ada") for name in ("ladder_knot", "tuck_knot")]
    assert [each.pace.operation for each in trials(KNOWN, even)] == ["tuck_knot", "ladder_knot"]


def test_a_longer_trial_narrows_more_and_the_order_of_the_lines_does_not_matter() -> None:
    short, long = trials(KNOWN, work(), 5), trials(KNOWN, work(), 30)
    at_most = {each.pace: each.left for each in short}
    assert all(each.left < at_most[each.pace] for each in long)
    again = trials(KNOWN, work()[::-1], 5)
    assert [each.pace for each in again] == [each.pace for each in short]
    assert [each.left for each in again] == pytest.approx([each.left for each in short])


def test_the_same_question_has_the_same_answer_to_the_bit() -> None:
    assert trials(KNOWN, work()) == trials(fit(CORRECTED[::-1]), work())


def test_where_nothing_can_be_tried_there_is_no_trial() -> None:
    assert trials(KNOWN, []) == ()
    assert trials(KNOWN, [Stretch("a", (Line("press", 3), Line("clip", 0, 20)), "Ada")]) == ()


@pytest.mark.parametrize("minutes", [0, -1, math.nan])
def test_a_trial_of_no_time_is_refused(minutes: float) -> None:
    with pytest.raises(Wrong, match="minutes"):
        trials(KNOWN, work(), minutes)


def test_a_work_that_does_not_feel_the_cloth_names_none() -> None:
    counts = {each.pace.operation: each.threads_per_cm for each in trials(KNOWN, work())}
    assert (counts["mark"], counts["ladder_knot"]) == (None, 24)
    assert np.isfinite(trials(KNOWN, work())[0].narrowed(14, 11))
