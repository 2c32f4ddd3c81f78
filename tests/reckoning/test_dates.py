"""Dates: plain plans to the day, and what must hold in every draw of any plan."""

import math
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from service.reckoning.asked import Wrong
from service.reckoning.capacity import HORIZON_DAYS, Availability, Stitcher, Week, availability_of, capacity
from service.reckoning.dates import (
    Dates,
    DatesAsk,
    Job,
    at_least,
    days_found,
    in_order,
    plan_days,
    reckon_dates,
    shown_percent,
    work_off,
)
from service.reckoning.diary import DiaryLine, diary
from service.reckoning.draws import DRAWS, draw
from service.reckoning.forecast import drawn_hours
from service.reckoning.hours import hours_range
from service.reckoning.paces import Range
from service.reckoning.rates_fit import fit
from service.reckoning.what_if import fewest_late
from tests.reckoning.golden_log import GARMENT, LOG, REST_OF_P1, stretches

MONDAY = date(2024, 1, 1)
WEEKDAYS = (2.0, 2.0, 2.0, 2.0, 2.0, 0.0, 0.0)
ADA = Stitcher("Ada", WEEKDAYS)
BEA = Stitcher("Bea", (1.0, 1.0, 0.0, 1.0, 1.0, 0.5, 0.0))
PLAN = DatesAsk(MONDAY, (ADA, BEA), ())


def day(number: int) -> date:
    return MONDAY + timedelta(number)


def planned(*jobs: Job, start: date = MONDAY, stitchers: tuple[Stitcher, ...] = (ADA, BEA)) -> Dates:
    return reckon_dates(DatesAsk(start, stitchers, jobs))


def test_a_job_takes_the_days_whose_hours_it_fills() -> None:
    dates = planned(Job("band", "P1", "Ada", 5.0))
    assert (dates.jobs[0].starts, dates.jobs[0].ends) == (day(0), day(2))
    garment = dates.garments[0]
    assert (garment.p50, garment.p80, garment.chance_in_time) == (day(2), day(2), None)


def test_work_rests_over_the_days_without_hours_and_the_days_away() -> None:
    away = replace(ADA, away=frozenset({day(2)}))
    assert planned(Job("band", "P1", "Ada", 10.0), stitchers=(away,)).jobs[0].ends == day(7)


def test_single_days_may_have_other_hours_and_a_day_away_has_none() -> None:
    more = replace(ADA, other=((day(0), 4.0), (day(1), 9.0), (day(5), 1.0)), away=frozenset({day(1)}))
    hours = (4.0, 6.0, 8.0, 10.0, 11.0)
    ends = [planned(Job("band", "P1", "Ada", each), stitchers=(more,)).jobs[0].ends for each in hours]
    assert ends == [day(0), day(2), day(3), day(4), day(5)]
    with pytest.raises(Wrong) as refused:
        planned(Job("band", "P1", "Ada", 1.0), stitchers=(replace(ADA, other=((day(0), 25.0),)),))
    assert refused.value.field == "stitchers.0.other.0"


def test_a_plan_may_start_on_any_day_of_the_week() -> None:
    friday = day(4)
    assert planned(Job("band", "P1", "Ada", 4.0), start=friday).jobs[0].ends == day(7)


def test_hours_that_add_up_only_to_the_last_bit_still_fit_into_their_days() -> None:
    tenths = Stitcher("Ada", (0.1,) * 7)
    jobs = [Job(str(n), str(n), "Ada", 0.1) for n in range(30)]
    assert planned(*jobs, stitchers=(tenths,)).jobs[-1].ends == day(29)


def test_the_earliest_due_day_is_worked_first() -> None:
    dates = planned(Job("late", "P1", "Ada", 4.0, day(20)), Job("soon", "P2", "Ada", 4.0, day(3)))
    assert [each.ends for each in dates.jobs] == [day(3), day(1)]


def test_a_job_is_as_urgent_as_what_waits_for_it() -> None:
    jobs = (
        Job("other", "P2", "Ada", 4.0, day(5)),
        Job("band", "P1", "Ada", 2.0),
        Job("press", "P1", "Ada", 2.0, day(2), ("band",)),
    )
    assert [each.id for each in in_order(jobs)] == ["band", "press", "other"]
    assert [each.ends for each in planned(*jobs).jobs] == [day(3), day(0), day(1)]


def test_jobs_without_a_due_day_are_worked_garment_by_garment_as_they_were_given() -> None:
    jobs = [
        Job("a1", "A", "Ada", 1.0),
        Job("a2", "A", "Ada", 1.0, None, ("a1",)),
        Job("b1", "B", "Ada", 1.0),
        Job("b2", "B", "Ada", 1.0, None, ("b1",)),
    ]
    assert [each.id for each in in_order(jobs)] == ["a1", "a2", "b1", "b2"]


def test_what_another_stitcher_hands_over_is_taken_up_the_day_after() -> None:
    dates = planned(Job("band", "P1", "Ada", 1.0), Job("bind", "P1", "Bea", 0.5, None, ("band",)))
    assert dates.jobs[0].ends == day(0)
    assert (dates.jobs[1].starts, dates.jobs[1].ends) == (day(1), day(1))


def test_ones_own_work_goes_on_the_same_day() -> None:
    dates = planned(Job("band", "P1", "Ada", 1.0), Job("bind", "P1", "Ada", 1.0, None, ("band",)))
    assert [each.ends for each in dates.jobs] == [day(0), day(0)]


def test_a_garment_is_done_with_the_last_of_its_jobs() -> None:
    dates = planned(Job("band", "P1", "Ada", 10.0), Job("bind", "P1", "Bea", 1.0))
    assert dates.garments[0].p50 == day(4)


def test_exact_hours_keep_their_day_for_certain_or_not_at_all() -> None:
    kept, missed = (planned(Job("band", "P1", "Ada", 5.0, due)).garments[0] for due in (day(2), day(1)))
    assert (kept.chance_in_time, missed.chance_in_time) == (1.0, 0.0)


def test_a_garment_is_in_time_when_every_due_day_is_kept() -> None:
    dates = planned(Job("band", "P1", "Ada", 2.0, day(0)), Job("bind", "P1", "Bea", 3.0, day(1)))
    assert dates.garments[0].chance_in_time == 0.0


def test_a_job_with_nothing_left_is_done_with_what_it_waits_for() -> None:
    dates = planned(
        Job("band", "P1", "Ada", 6.0),
        Job("done", "P1", "Bea", 0.0, day(1), ("band",)),
        Job("begun", "P2", "Ada", 0.0, day(0)),
    )
    assert [each.ends for each in dates.jobs] == [day(2), day(2), day(0)]
    assert [each.chance_in_time for each in dates.garments] == [0.0, 1.0]


def test_a_range_has_its_quantiles_and_is_lengthened_by_availability() -> None:
    """One job of one stitcher: its chance in time is that of a two-sided lognormal over a lognormal."""
    hours = Range(20.0, 25.0, 40.0)
    sure = replace(ADA, availability=Availability(1.0, 0.0))
    tenth = planned(Job("band", "P1", "Ada", hours), stitchers=(sure,)).jobs[0]
    assert tenth.ends == day(16)  # 25 h at ten a week: Wednesday of the third week
    ask = Job("band", "P1", "Ada", hours, day(18))
    assert planned(ask, stitchers=(sure,)).garments[0].chance_in_time == pytest.approx(
        stats.norm.cdf(math.log(30 / 25) / (math.log(40 / 25) / 1.281552)), abs=0.001
    )
    alone = planned(replace(ask, hours=Range(25.0, 25.0, 25.0))).garments[0].chance_in_time
    assert alone == pytest.approx(stats.norm.cdf(math.log(30 * 0.9 / 25) / 0.10), abs=0.001)


def test_two_ranges_in_a_row_have_the_chance_of_their_sum() -> None:
    hours = Range(8.0, 10.0, 12.5)
    sure = replace(ADA, availability=Availability(1.0, 0.0))
    jobs = [Job("0", "P1", "Ada", hours), Job("1", "P1", "Ada", hours, day(11), ("0",))]
    ln_sd = math.log(1.25) / 1.281552
    many = np.exp(np.random.default_rng(0).normal(math.log(10), ln_sd, (400_000, 2))).sum(axis=1)
    chance = planned(*jobs, stitchers=(sure,)).garments[0].chance_in_time
    assert chance == pytest.approx((many <= 20).mean(), abs=0.03)


@given(st.floats(0, 1))
def test_a_chance_is_shown_from_1_to_99(chance: float) -> None:
    assert 1 <= shown_percent(chance) <= 99
    assert abs(shown_percent(chance) - 100 * chance) <= 1


GOLDEN = draw(fit(LOG), ["P1"])
REST = drawn_hours(GOLDEN, stretches(REST_OF_P1, "Ada", garment="P1"))
NEW = drawn_hours(GOLDEN, stretches(GARMENT, "Ada"))
SLEEVE = drawn_hours(GOLDEN, stretches((("ladder_knot", 300),), "Bea"))


def drawn_plan() -> DatesAsk:
    rest = [Job(f"rest {n}", "P1", "Ada", hours, day(10)) for n, hours in enumerate(REST)]
    new = [Job(f"new {n}", "P5", "Ada", hours, day(21)) for n, hours in enumerate(NEW)]
    sleeve = Job("sleeve", "P6", "Bea", SLEEVE[0], day(14), ("rest 0",))
    return DatesAsk(MONDAY, (ADA, BEA), (*rest, *new, sleeve))


def test_drawn_hours_give_the_day_that_their_quantiles_and_availability_give() -> None:
    """A single queue in closed form: the sum of hours over an availability, against the hours until a day."""
    dates = plan_days(drawn_plan())
    found = hours_range(REST.sum(axis=0))
    sd = math.hypot(math.log(found.p90 / found.p10) / 2.563103, 0.10)
    chance = stats.norm.cdf(math.log(8 * 0.9 / found.p50) / sd)
    in_four_days = plan_days(replace(drawn_plan(), jobs=tuple(_due(job, day(3)) for job in drawn_plan().jobs[:4])))
    assert in_four_days.garments[0].chance_in_time == pytest.approx(chance, abs=0.03)
    assert dates.garments[0].p50 < dates.garments[1].p50


def _due(job: Job, due: date) -> Job:
    return replace(job, due=due)


def later(before: DatesAsk, after: DatesAsk) -> bool:
    """Whether no job of the second plan is done earlier than in the first, in any draw."""
    first, second = work_off(before), work_off(after)
    return all(bool(np.all(first[job.id].days <= second[job.id].days)) for job in before.jobs)


def test_hours_one_per_cent_more_make_nothing_earlier_in_any_draw() -> None:
    plan = drawn_plan()
    more = tuple(replace(job, hours=np.asarray(job.hours) * 1.01) for job in plan.jobs)
    assert later(plan, replace(plan, jobs=more))


@settings(max_examples=25, deadline=None)
@given(st.sets(st.integers(0, 30), max_size=12), st.sampled_from(["Ada", "Bea"]))
def test_days_off_make_nothing_earlier_in_any_draw(away: set[int], who: str) -> None:
    plan = drawn_plan()
    off = frozenset(day(number) for number in away)
    stitchers = tuple(replace(each, away=off) if each.name == who else each for each in plan.stitchers)
    assert later(plan, replace(plan, stitchers=stitchers))


def test_more_units_make_nothing_earlier() -> None:
    plan = drawn_plan()
    more = drawn_hours(GOLDEN, stretches((("ladder_knot", 600),), "Bea"))[0]
    longer = replace(plan, jobs=(*plan.jobs[:-1], replace(plan.jobs[-1], hours=more)))
    assert work_off(plan)["sleeve"].days.mean() < work_off(longer)["sleeve"].days.mean()


def test_a_job_moved_leaves_untouched_garments_as_they_were_in_every_draw() -> None:
    plan = drawn_plan()
    alone = Job("alone", "P9", "Cleo", Range(3.0, 5.0, 8.0), day(30))
    plan = replace(plan, stitchers=(*plan.stitchers, Stitcher("Cleo", WEEKDAYS)), jobs=(alone, *plan.jobs))
    before = work_off(plan)
    given = (replace(job, stitcher="Ada", hours=SLEEVE[0]) if job.id == "sleeve" else job for job in plan.jobs)
    after = work_off(replace(plan, jobs=tuple(given)))
    assert np.array_equal(before["alone"].ended, after["alone"].ended)
    assert np.array_equal(before["rest 0"].ended, after["rest 0"].ended)


@pytest.mark.parametrize(
    ("ask", "field"),
    [
        (DatesAsk(MONDAY, (ADA,), (Job("a", "P", "Dora", 1.0),)), "jobs.0.stitcher"),
        (DatesAsk(MONDAY, (ADA,), (Job("a", "P", "Ada", -1.0),)), "jobs.0.hours"),
        (DatesAsk(MONDAY, (ADA,), (Job("a", "P", "Ada", math.nan),)), "jobs.0.hours"),
        (DatesAsk(MONDAY, (ADA,), (Job("a", "P", "Ada", Range(0.0, 5.0, 8.0)),)), "jobs.0.hours.p10"),
        (DatesAsk(MONDAY, (ADA,), (Job("a", "P", "Ada", Range(5.0, 4.0, 8.0)),)), "jobs.0.hours.p50"),
        (DatesAsk(MONDAY, (ADA,), (Job("a", "P", "Ada", Range(3.0, 4.0, 3.5)),)), "jobs.0.hours.p90"),
        (DatesAsk(MONDAY, (ADA,), (Job("a", "P", "Ada", np.ones(7)),)), "jobs.0.hours"),
        (DatesAsk(MONDAY, (ADA,), (Job("a", "P", "Ada", 1.0, day(-1)),)), "jobs.0.due"),
        (DatesAsk(MONDAY, (ADA,), (Job("a", "P", "Ada", 1.0, None, ("b",)),)), "jobs.0.after"),
        (DatesAsk(MONDAY, (ADA,), (Job("a", "P", "Ada", 1.0, None, ("a",)),)), "jobs.0.after"),
        (
            DatesAsk(
                MONDAY,
                (ADA,),
                (Job("a", "P", "Ada", 1.0, None, ("b",)), Job("b", "P", "Ada", 1.0, None, ("a",))),
            ),
            "jobs.0.after",
        ),
        (DatesAsk(MONDAY, (ADA,), (Job("a", "P", "Ada", 1.0), Job("a", "P", "Ada", 2.0))), "jobs"),
        (DatesAsk(MONDAY, (ADA,), (Job("a", "P", "Ada", 1e5),)), "jobs"),
        (DatesAsk(MONDAY, (replace(ADA, hours=(0.0,) * 7),), (Job("a", "P", "Ada", 1.0),)), "stitchers.0.hours"),
        (DatesAsk(MONDAY, (replace(ADA, hours=(1.0,) * 6),), ()), "stitchers.0.hours"),
        (DatesAsk(MONDAY, (replace(ADA, hours=(25.0,) * 7),), ()), "stitchers.0.hours.0"),
        (DatesAsk(MONDAY, (replace(ADA, name=""),), ()), "stitchers.0.name"),
        (DatesAsk(MONDAY, (ADA, ADA), ()), "stitchers.1.name"),
        (DatesAsk(date(9999, 12, 31), (ADA,), ()), "start"),
    ],
    ids=str,
)
def test_what_cannot_be_planned_is_refused_at_its_field(ask: DatesAsk, field: str) -> None:
    with pytest.raises(Wrong) as refused:
        reckon_dates(ask)
    assert refused.value.field.startswith(field)


def test_a_garment_overdue_already_is_planned_for_the_studio_with_no_chance_left() -> None:
    overdue = Job("band", "P1", "Ada", 1.0, day(-3))
    assert plan_days(DatesAsk(MONDAY, (ADA,), (overdue,))).garments[0].chance_in_time == 0.0


def test_a_circle_names_a_job_that_is_in_it() -> None:
    jobs = (
        Job("free", "P", "Ada", 1.0),
        Job("a", "P", "Ada", 1.0, None, ("b",)),
        Job("b", "P", "Ada", 1.0, None, ("a", "free")),
    )
    with pytest.raises(Wrong, match="circle") as refused:
        in_order(jobs)
    assert refused.value.field in {"jobs.1.after", "jobs.2.after"}


def test_a_range_of_nothing_is_no_work() -> None:
    assert planned(Job("band", "P1", "Ada", Range(0.0, 0.0, 0.0))).jobs[0].ends == MONDAY
    assert planned(Job("band", "P1", "Ada", np.zeros(DRAWS))).jobs[0].ends == MONDAY


def test_weeks_teach_availability_and_pull_it_from_the_guess_bit_by_bit() -> None:
    guess = availability_of([])
    few, many = (availability_of([Week(20, 12)] * n) for n in (2, 40))
    assert 0.6 < many.median < few.median < guess.median
    assert many.median == pytest.approx(0.6, abs=0.05)
    assert many.ln_sd < few.ln_sd <= guess.ln_sd


def test_a_week_without_a_stitch_counts_as_a_tenth() -> None:
    assert availability_of([Week(20, 0)]) == availability_of([Week(20, 2)])


@pytest.mark.parametrize(
    ("week", "field"), [(Week(0, 3), "weeks.0.planned_hours"), (Week(10, -1), "weeks.0.worked_hours")]
)
def test_a_week_that_cannot_be_right_is_refused(week: Week, field: str) -> None:
    with pytest.raises(Wrong) as refused:
        availability_of([week])
    assert refused.value.field == field


def test_the_diary_writes_each_day_who_is_expected_on_what() -> None:
    ask = DatesAsk(
        MONDAY,
        (ADA, BEA),
        (
            Job("bind", "P1", "Bea", 0.5, None, ("band",)),
            Job("band", "P1", "Ada", 3.0),
            Job("tucks", "P2", "Ada", 2.0),
        ),
    )
    plan = work_off(ask)
    assert diary(ask, plan, 7) == (
        DiaryLine(day(0), "Ada", "P1", "band", 2.0),
        DiaryLine(day(1), "Ada", "P1", "band", 1.0),
        DiaryLine(day(1), "Ada", "P2", "tucks", 1.0),
        DiaryLine(day(2), "Ada", "P2", "tucks", 1.0),
        DiaryLine(day(3), "Bea", "P1", "bind", 0.5),
    )
    assert diary(ask, plan, 1) == (DiaryLine(day(0), "Ada", "P1", "band", 2.0),)
    assert diary(ask, plan, 2, first=2) == diary(ask, plan, 7)[3:]
    assert diary(ask, plan, 7, first=HORIZON_DAYS) == ()


def test_the_diary_holds_all_hours_and_no_day_more_than_the_stitcher_has() -> None:
    plan = work_off(drawn_plan())
    lines = diary(drawn_plan(), plan, 400)
    middle = {job: [at_least(when, (0.5,))[0] for when in (it.begun, it.ended)] for job, it in plan.items()}
    assert sum(line.hours for line in lines) == pytest.approx(sum(ended - begun for begun, ended in middle.values()))
    ends = {job.id: job.ends for job in plan_days(drawn_plan()).jobs}
    assert {line.job: line.day for line in lines} == ends
    for who in (ADA, BEA):
        for number in range(60):
            hours = sum(line.hours for line in lines if (line.day, line.stitcher) == (day(number), who.name))
            assert hours <= who.hours[day(number).weekday()] + 1e-9


def test_a_commission_wanted_after_all_others_moves_none_of_them() -> None:
    plan = drawn_plan()
    more = replace(plan, jobs=(*plan.jobs, Job("gown", "P7", "Bea", 9.0, day(40))))
    before, after = (days_found(each, work_off(each)) for each in (plan, more))
    assert set(after) - set(before) == {"P7"}
    assert {name: after[name] for name in before} == before


def test_what_is_not_done_within_twenty_years_has_no_day_and_leaves_the_others_theirs() -> None:
    rare = Stitcher("Cleo", (0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.1))
    plan = DatesAsk(
        MONDAY, (ADA, rare), (Job("gown", "P1", "Cleo", 500.0, day(9)), Job("bib", "P2", "Ada", 3.0, day(4)))
    )
    found = days_found(plan, work_off(plan))
    assert found["P1"] is None
    assert found["P2"] is not None
    assert found["P2"].p50 == day(1)


def test_nothing_is_put_back_while_all_is_in_time() -> None:
    assert fewest_late([]) == ()


def test_hours_go_on_to_the_last_day_foreseen_and_stay_there() -> None:
    """An hour every day for twenty years: 7,305 days."""
    daily = capacity(Stitcher("Ada", (1.0,) * 7), date(2026, 11, 30))
    assert daily.hours_by(np.array([0, HORIZON_DAYS - 2, HORIZON_DAYS - 1, HORIZON_DAYS])).tolist() == [
        1,
        7304,
        7305,
        7305,
    ]


def test_what_is_learned_of_how_far_plans_hold_makes_no_other_week() -> None:
    ada = Stitcher("Ada", (1.0,) * 7, frozenset({date(2026, 12, 24)}))
    learned = replace(ada, availability=Availability(0.7, 0.2))
    assert capacity(learned, date(2026, 11, 30)) is capacity(ada, date(2026, 11, 30))
    assert capacity(replace(ada, away=frozenset()), date(2026, 11, 30)).by_day[-1] == HORIZON_DAYS
