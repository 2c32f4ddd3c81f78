"""Hours left, quoted, looked back on and told by a stitcher's own paces: what holds for any work."""

from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.reckoning.draws import draw
from service.reckoning.hindsight import hindsight
from service.reckoning.hours import Line, Stretch
from service.reckoning.hours_left import days_of, hours_left
from service.reckoning.operations import OPERATIONS
from service.reckoning.own_paces import own_paces
from service.reckoning.quoting import hours_changed, hours_to_quote, with_more
from service.reckoning.rates import LoggedWork
from service.reckoning.rates_fit import fit
from service.reckoning.trial import trials
from tests.reckoning.golden_log import CORRECTED, FIRST_DAY

Work = dict[int, list[Stretch]]
KNOWN = fit(CORRECTED)
TOLD = draw(KNOWN, ["P1"], 200)
NAMES = ("withdraw", "ladder_knot", "whip_bias", "press", "mark")
WHO = st.sampled_from(("Ada", "Bea", "Dora", ""))
LINES = st.builds(Line, st.sampled_from(NAMES), st.integers(0, 400), st.sampled_from((14.0, 20.0, 31.5)))
STRETCHES = st.builds(
    Stretch, st.uuids().map(str), st.lists(LINES, min_size=1, max_size=3).map(tuple), WHO, st.sampled_from(("", "P1"))
)
WORK = st.dictionaries(st.integers(1, 9), st.lists(STRETCHES, max_size=2), max_size=3)
LOGGED = st.builds(
    LoggedWork,
    st.integers(60, 63).map(lambda days: FIRST_DAY + timedelta(days)),
    st.sampled_from(("Ada", "Bea", "Dora")),
    st.sampled_from(NAMES),
    st.sampled_from((14.0, 20.0)),
    st.just("P9"),
    st.integers(1, 300),
    st.integers(6, 200),
)


@settings(max_examples=10)
@given(WORK, st.sampled_from((1.0, 1.4)))
def test_hours_left_rise_with_their_chance_and_are_none_only_of_no_work(work: Work, kappa: float) -> None:
    found = hours_left(TOLD, work, kappa)
    assert list(found) == list(work)
    for number, left in found.items():
        hours = [left.at(percent) for percent in range(1, 100)]
        assert hours == sorted(hours)
        assert hours[0] >= 0
        assert left.is_none == (not any(line.quantity for each in work[number] for line in each.lines))


@given(st.integers(0, 10**9), st.integers(1, 1440))
def test_days_are_enough_and_a_day_fewer_are_not(left_ms: int, minutes: int) -> None:
    days = days_of(left_ms, minutes)
    assert days * minutes * 60_000 >= left_ms
    assert days == 0 or (days - 1) * minutes * 60_000 < left_ms


@settings(max_examples=10)
@given(WORK, st.floats(0.5, 0.9))
def test_quoted_hours_lie_between_likely_and_worst_and_are_the_sum_of_their_shares(work: Work, chance: float) -> None:
    found = hours_to_quote(TOLD, work, chance)
    assert 0 <= found.likely <= found.quoted <= found.worst
    assert sum(found.shares.values()) == pytest.approx(found.quoted, abs=1e-9)
    assert list(found.shares) == list(work)
    assert all(share >= 0 for share in found.shares.values())


@settings(max_examples=10)
@given(st.lists(STRETCHES, min_size=1, max_size=3), LINES, st.floats(0.5, 0.9))
def test_more_work_never_takes_fewer_hours_and_taken_away_again_it_is_as_before(
    left: list[Stretch], change: Line, chance: float
) -> None:
    more = with_more(left, [change])
    found = hours_changed(TOLD, {1: left}, {1: more}, chance)
    assert found.after >= found.before - 1e-9
    taken = Line(change.operation, -change.quantity, change.threads_per_cm)
    assert _units(with_more(more, [taken])) == _units(left)


@settings(max_examples=5)
@given(st.lists(LOGGED, min_size=1, max_size=4))
def test_looking_back_tells_the_minutes_logged_beside_a_range_in_order(log: list[LoggedWork]) -> None:
    found = hindsight([*CORRECTED, *log], "P9")
    assert found.actual_hours == pytest.approx(sum(entry.minutes for entry in log) / 60)
    assert 0 < found.p10_hours < found.median_hours < found.p90_hours


@settings(max_examples=5)
@given(st.lists(LOGGED, max_size=4), WHO)
def test_a_stitchers_own_paces_are_of_what_she_logged_alone_each_a_range_in_order(
    log: list[LoggedWork], who: str
) -> None:
    known = fit([*CORRECTED, *log])
    found = own_paces(known, who)
    logged = {entry.operation for entry in (*CORRECTED, *log) if entry.stitcher == who}
    assert [pace.operation for pace in found] == [name for name in OPERATIONS if name in logged]
    assert all(pace.days >= 1 and 0 < pace.seconds.p10 < pace.seconds.p50 < pace.seconds.p90 for pace in found)


@settings(max_examples=10)
@given(st.lists(STRETCHES, max_size=3), st.floats(1, 60))
def test_a_trial_leaves_less_of_the_spread_and_the_first_leaves_least(stretches: list[Stretch], minutes: float) -> None:
    found = trials(KNOWN, stretches, minutes)
    tried = {line.operation for each in stretches for line in each.lines if line.quantity and line.operation != "press"}
    assert {trial.pace.operation for trial in found} == tried
    assert all(0 < trial.left <= 1 for trial in found)
    assert [round(trial.left, 9) for trial in found] == sorted(round(trial.left, 9) for trial in found)
    assert all(10 <= trial.narrowed(20, 10) <= 20 <= trial.narrowed(20, 45) <= 45 for trial in found)


def _units(stretches: list[Stretch]) -> dict[str, object]:
    found: dict[str, float] = {}
    for each in stretches:
        for line in each.lines:
            found[line.operation] = found.get(line.operation, 0) + line.quantity
    return {name: pytest.approx(units) for name, units in found.items() if units}
