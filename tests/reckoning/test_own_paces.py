"""A stitcher's own paces: of what she has logged, on the count she works at, in the order of the operations."""

from service.reckoning.own_paces import own_paces
from service.reckoning.paces import pace_range
from service.reckoning.rates import Pace
from service.reckoning.rates_fit import fit
from tests.reckoning.golden_log import CORRECTED

KNOWN = fit(CORRECTED)


def test_what_she_logged_is_told_by_days_at_the_middle_of_her_counts() -> None:
    told = [(pace.operation, pace.unit, pace.days, pace.threads_per_cm) for pace in own_paces(KNOWN, "Ada")]
    assert told == [
        ("clip", "thread", 1, 20),
        ("withdraw", "thread", 2, 24),
        ("hem_knot", "knot", 3, 20),
        ("ladder_knot", "knot", 4, 24),
        ("pair_knot", "knot", 1, 28),
        ("whip_bias", "cm", 1, 20),
    ]


def test_work_that_no_count_is_felt_in_names_none() -> None:
    assert [pace.threads_per_cm for pace in own_paces(KNOWN, "Bea") if pace.operation == "mark"] == [None]


def test_each_pace_is_the_range_of_her_seconds_and_strangers_have_none() -> None:
    for pace in own_paces(KNOWN, "Ada"):
        assert pace.seconds == pace_range(KNOWN, Pace("Ada", pace.operation, pace.threads_per_cm or 20))
        assert 0 < pace.seconds.p10 < pace.seconds.p50 < pace.seconds.p90
    assert own_paces(KNOWN, "Nobody") == ()
