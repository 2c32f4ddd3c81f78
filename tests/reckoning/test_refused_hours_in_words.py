"""What hours, days and sums refuse, word for word."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from math import nan

import pytest

from service.reckoning import (
    dates,
    hours,
    in_hand,
    money,
    price,
    rates,
    track_record,
)
from service.reckoning.capacity import Stitcher, Week, availability_of
from tests.reckoning.good_questions import GOOD, MAY, odd, told

WEEK = GOOD["dates"][1]


REFUSALS: list[tuple[Callable[[], object], str]] = [
    (
        lambda: dates.reckon_dates(replace(WEEK, stitchers=(Stitcher("", (4.0,) * 7),))),
        "stitchers.0.name: needs a name",
    ),
    (
        lambda: dates.reckon_dates(replace(WEEK, stitchers=(Stitcher("Ada", (4.0,) * 6),))),
        "stitchers.0.hours: needs seven numbers, Monday to Sunday, not 6",
    ),
    (
        lambda: dates.reckon_dates(replace(WEEK, stitchers=(Stitcher("Ada", (0.01,) * 7),))),
        "stitchers.0.hours.0: must be none at all, or three minutes at least",
    ),
    (
        lambda: dates.reckon_dates(replace(WEEK, stitchers=(Stitcher("Ada", (4.0,) * 7, other=((MAY, 25.0),)),))),
        "stitchers.0.other.0: must be at most 24, not 25",
    ),
    (
        lambda: dates.reckon_dates(replace(WEEK, stitchers=(Stitcher("Ada", (0.0,) * 7),))),
        "stitchers.0.hours: Ada has no hours in any week, so her jobs are never done",
    ),
    (
        lambda: dates.reckon_dates(replace(WEEK, stitchers=WEEK.stitchers * 2)),
        "stitchers.1.name: there are two stitchers called Ada",
    ),
    (
        lambda: dates.reckon_dates(replace(WEEK, stitchers=WEEK.stitchers * 1001)),
        "stitchers: at most 200 stitchers can be planned for, not 1001",
    ),
    (
        lambda: dates.reckon_dates(replace(WEEK, jobs=WEEK.jobs * 10_001)),
        "jobs: at most 2000 jobs can be planned at once, not 20002",
    ),
    (
        lambda: dates.reckon_dates(
            replace(WEEK, jobs=(dates.Job("a", "g", "Ada", 1.0), dates.Job("a", "g", "Ada", 1.0)))
        ),
        "jobs: every job needs an id of its own",
    ),
    (
        lambda: dates.reckon_dates(replace(WEEK, jobs=(dates.Job("a", "g", "Bea", 1.0),))),
        "jobs.0.stitcher: nobody called Bea is among the stitchers",
    ),
    (
        lambda: dates.reckon_dates(replace(WEEK, jobs=(dates.Job("a", "g", "Ada", 1.0, after=("z",)),))),
        "jobs.0.after: there is no job z",
    ),
    (
        lambda: dates.reckon_dates(replace(WEEK, jobs=(dates.Job("a", "g", "Ada", 1.0, due=date(2027, 5, 2)),))),
        "jobs.0.due: lies before the start, 2027-05-03",
    ),
    (
        lambda: dates.reckon_dates(replace(WEEK, jobs=(dates.Job("a", "g", "Ada", 1.0, after=("a",)),))),
        "jobs.0.after: the jobs wait for each other in a circle",
    ),
    (
        lambda: dates.reckon_dates(replace(WEEK, jobs=(dates.Job("a", "g", "Ada", 1e5),))),
        "jobs: g is not done within twenty years: there is more work than hours",
    ),
    (lambda: availability_of([Week(0, 4)]), "weeks.0.planned_hours: must be above zero, not 0"),
    (lambda: availability_of([Week(4, -1)]), "weeks.0.worked_hours: must be at least 0, not -1"),
    (lambda: hours.share_near(odd([1.0]), nan), "chance: must be a number"),
    (lambda: hours.share_near(odd([1.0]), 1.5), "chance: must lie between 0 and 1, not 1.5"),
    (lambda: in_hand.pass_in_hand((), 1), "passes: name at least one"),
    (
        lambda: money.minor_digits("euro"),
        "currency: must be the three capitals of a currency, such as EUR, not 'euro'",
    ),
    (
        lambda: money.minor_digits("eur"),
        "currency: must be the three capitals of a currency, such as EUR, not 'eur'",
    ),
    (lambda: price.instalments(100, (60, 60)), "instalments_percent: must add up to 100, not 120"),
    (lambda: price.instalments(100, (1,) * 100), "instalments_percent: must be at most 60, not 100"),
    (
        lambda: price.reckon_price(replace(GOOD["price"][1], hours_quoted=39)),
        "hours_quoted: must not be fewer than the likely hours (hours_p50)",
    ),
    (
        lambda: rates.check_logged(replace(GOOD["logged work"][1], day=5), "log", rates.Prior()),
        "log.day: must be a day",
    ),
    (
        lambda: rates.check_logged(replace(GOOD["logged work"][1], stitcher=""), "log", rates.Prior()),
        "log.stitcher: needs a name",
    ),
    (
        lambda: rates.check_logged(replace(GOOD["logged work"][1], garment=""), "log", rates.Prior()),
        "log.garment: needs a name",
    ),
    (
        lambda: rates.check_logged(replace(GOOD["logged work"][1], operation="knit"), "log", rates.Prior()),
        "log.operation: there is no operation called 'knit'",
    ),
    (
        lambda: track_record.surprise(track_record.Finished(20, 10, 20, 5)),
        "p90_hours: must be above zero, not -0.540866",
    ),
]


@pytest.mark.parametrize(
    ("reckon", "refusal"),
    REFUSALS,
    ids=[f"{at} {refusal.partition(':')[0]}" for at, (_, refusal) in enumerate(REFUSALS)],
)
def test_a_refusal_of_hours_days_or_sums_names_its_field(reckon: Callable[[], object], refusal: str) -> None:
    assert told(reckon) == refusal
