"""Dates against published sequencing results and network examples.

Where a day has one hour, an hour of work is a day, and hours and days of the sources are the same.
"""

from collections.abc import Sequence
from datetime import date, timedelta
from fractions import Fraction
from itertools import combinations, permutations

import numpy as np
import pytest

from service.reckoning.capacity import Availability, Stitcher
from service.reckoning.dates import DatesAsk, Job, plan_days
from service.reckoning.draws import scores
from service.reckoning.what_if import Due, fewest_late

START = date(2024, 1, 1)
HOUR_A_DAY = (1.0,) * 7


def finished(ask: DatesAsk) -> dict[str, int]:
    """Days from the start to the end of each job's last."""
    return {each.id: (each.ends - START).days + 1 for each in plan_days(ask).jobs}


def one_stitcher(hours: Sequence[int], due: Sequence[int], week: tuple[float, ...] = HOUR_A_DAY) -> DatesAsk:
    jobs = tuple(
        Job(str(n), str(n), "Ada", float(h), START + timedelta(d - 1))
        for n, (h, d) in enumerate(zip(hours, due, strict=True))
    )
    return DatesAsk(START, (Stitcher("Ada", week),), jobs)


def latest(ends: dict[str, int], due: Sequence[int]) -> int:
    return max(ends[str(n)] - d for n, d in enumerate(due))


def latest_in_order(ask: DatesAsk, order: Sequence[int], due: Sequence[int]) -> int:
    """The largest lateness when the jobs are worked in this order, each waiting for the one before."""
    jobs = tuple(
        Job(str(n), str(n), "Ada", ask.jobs[n].hours, None, (str(order[place - 1]),) if place else ())
        for place, n in enumerate(order)
    )
    return latest(finished(DatesAsk(START, ask.stitchers, jobs)), due)


def test_the_textbooks_six_jobs_are_at_most_one_day_late() -> None:
    # Kleinberg & Tardos, Algorithm Design (2005), section 4.2 (from memory): largest lateness 1
    hours, due = (3, 2, 1, 4, 3, 2), (6, 8, 9, 9, 14, 15)
    ask = one_stitcher(hours, due)
    assert latest(finished(ask), due) == 1


@pytest.mark.parametrize("seed", [1955, 1956])
def test_no_order_of_six_jobs_has_a_smaller_largest_lateness(seed: int) -> None:
    # Jackson 1955: the earliest due date first; against all 720 orders, with days off in the week
    rng = np.random.default_rng(seed)
    hours, due = rng.integers(1, 8, 6).tolist(), rng.integers(1, 40, 6).tolist()
    ask = one_stitcher(hours, due, (1.5, 1.5, 0.0, 1.0, 2.0, 0.0, 0.5))
    least = min(latest_in_order(ask, order, due) for order in permutations(range(6)))
    assert latest(finished(ask), due) == least


def late_at_least(hours: Sequence[int], due: Sequence[int]) -> int:
    """The fewest late pieces, by trying every set of pieces in time."""
    pieces = sorted(zip(due, hours, strict=True))
    for many in range(len(pieces), -1, -1):
        for kept in combinations(pieces, many):
            ends = np.cumsum([h for _, h in kept])
            if all(end <= d for end, (d, _) in zip(ends, kept, strict=True)):
                return len(pieces) - many
    raise AssertionError


def put_back(hours: Sequence[int], due: Sequence[int]) -> tuple[str, ...]:
    return fewest_late([Due(str(n + 1), h, d) for n, (h, d) in enumerate(zip(hours, due, strict=True))])


def test_moores_rule_puts_back_the_textbooks_two_jobs() -> None:
    # Pinedo, Scheduling, example 3.3.3 (from memory; the same figures and answer in a public test): 3, 4, 5 in time
    assert put_back((7, 8, 4, 6, 6), (9, 17, 18, 19, 20)) == ("1", "2")


def test_moores_rule_puts_back_as_few_of_the_ten_jobs_as_any_choice_would() -> None:
    # ten jobs of a published exercise in the rule of Moore (1968) and Hodgson, without an answer there
    hours = (19, 23, 5, 31, 17, 8, 32, 41, 26, 18)
    due = (48, 75, 170, 215, 205, 240, 85, 67, 100, 95)
    assert len(put_back(hours, due)) == late_at_least(hours, due)


@pytest.mark.parametrize("seed", range(30))
def test_moores_rule_puts_back_as_few_as_any_choice_would(seed: int) -> None:
    # Moore 1968: the least number of late jobs; against every choice of eight
    rng = np.random.default_rng(seed)
    hours, due = rng.integers(1, 9, 8).tolist(), rng.integers(1, 40, 8).tolist()
    back = put_back(hours, due)
    assert len(back) == late_at_least(hours, due)
    kept = [(d, h) for n, (h, d) in enumerate(zip(hours, due, strict=True)) if str(n + 1) not in back]
    ends = np.cumsum([h for _, h in sorted(kept)])
    assert all(end <= d for end, (d, _) in zip(ends, sorted(kept), strict=True))


def network(days: dict[str, int], after: dict[str, str]) -> dict[str, int]:
    """Every activity a job of its own stitcher, who takes it up the day after the last of those before is done."""
    jobs = tuple(Job(n, n, n, float(d), None, tuple(after.get(n, ""))) for n, d in days.items())
    return finished(DatesAsk(START, tuple(Stitcher(n, HOUR_A_DAY) for n in days), jobs))


def mean_times(guessed: dict[str, tuple[int, int, int]]) -> dict[str, Fraction]:
    """The mean of three guesses: te = (a + 4m + b) / 6."""
    return {name: Fraction(a + 4 * m + b, 6) for name, (a, m, b) in guessed.items()}


def test_the_critical_path_of_taylors_example_takes_24_days() -> None:
    # W6.6, Taylor, Introduction to Management Science (on flylib): te 9, 5, 6, 4 along the critical path 1-3-5-7
    times = mean_times({"1": (5, 8, 17), "3": (3, 5, 7), "5": (4, 6, 8), "7": (3, 4, 5)})
    whole = {name: int(time) for name, time in times.items()}
    assert network(whole, {"3": "1", "5": "3", "7": "5"})["7"] == 24


def test_a_path_of_three_activities_takes_the_sum_of_their_means() -> None:
    # W6.7, a printed exercise in three-point guesses, its name not kept: means 3, 8, 6 -> 17
    assert network({"a": 3, "b": 8, "c": 6}, {"b": "a", "c": "b"})["c"] == 17


def test_the_critical_path_of_the_exercise_with_eight_activities() -> None:
    # W6.8, an exercise published without an answer, its name not kept: A-C-G-H, 20.833; in sixths of a day all times are whole
    guessed = {
        "A": (2, 5, 6),
        "B": (1, 5, 11),
        "C": (4, 6, 10),
        "D": (2, 2, 2),
        "E": (1, 2, 9),
        "F": (2, 4, 5),
        "G": (3, 8, 11),
        "H": (1, 2, 4),
    }
    sixths = {name: int(6 * time) for name, time in mean_times(guessed).items()}
    ends = network(sixths, {"C": "A", "D": "B", "E": "A", "F": "CD", "G": "CE", "H": "FG"})
    assert Fraction(ends["H"], 6) == pytest.approx(20.833, abs=5e-4)
    assert ends["H"] == sixths["A"] + sixths["C"] + sixths["G"] + sixths["H"]


def chance_within(path: Sequence[tuple[Fraction, Fraction]], days: int) -> float:
    """The chance that the activities of a path, normal with these means and variances, take so many days at most.

    One stitcher with an hour a day works them off in every draw, as any plan.
    """
    hours = [
        float(mean) + float(variance) ** 0.5 * scores(("activity", str(n))) for n, (mean, variance) in enumerate(path)
    ]
    assert all((each > 0).all() for each in hours)
    due = START + timedelta(days - 1)
    jobs = tuple(Job(str(n), "path", "Ada", each, due) for n, each in enumerate(hours))
    sure = Stitcher("Ada", HOUR_A_DAY, availability=Availability(1.0, 0.0))
    (found,) = plan_days(DatesAsk(START, (sure,), jobs)).garments
    assert found.chance_in_time is not None
    return found.chance_in_time


def three_guesses(*guessed: tuple[int, int, int]) -> list[tuple[Fraction, Fraction]]:
    """Mean (a + 4m + b) / 6 and variance ((b - a) / 6) squared of each."""
    return [(Fraction(a + 4 * m + b, 6), Fraction(b - a, 6) ** 2) for a, m, b in guessed]


DRAWN = 0.02  # twice the error of two thousand draws, and a little


def test_taylors_example_is_done_within_28_days_with_the_printed_chance() -> None:
    # W6.6, Taylor, Introduction to Management Science (on flylib): mean 24, variance 5, P(28 days) 0.9632 (printed 0.9633)
    path = three_guesses((5, 8, 17), (3, 5, 7), (4, 6, 8), (3, 4, 5))
    assert (sum(mean for mean, _ in path), sum(variance for _, variance in path)) == (24, 5)
    assert chance_within(path, 28) == pytest.approx(0.9632, abs=DRAWN)


def test_a_path_of_mean_17_and_deviation_3_is_done_within_20_days_with_the_printed_chance() -> None:
    # W6.7, a printed exercise, its name not kept: means 3, 8, 6, sd 1, 2, 2 -> 17 and 3; P(20 days) 0.8413 (printed 0.84). A day of 3 with sd 1 may come out
    # below nothing in a normal, never in work: a hundred days are added to each, and three hundred to the day
    longer = [(Fraction(mean + 100), Fraction(sd**2)) for mean, sd in ((3, 1), (8, 2), (6, 2))]
    assert chance_within(longer, 320) == pytest.approx(0.8413, abs=DRAWN)


def test_the_exercise_with_eight_activities_is_done_within_22_days_with_the_computed_chance() -> None:
    # W6.8, an exercise published without an answer, its name not kept: path A-C-G-H, mean 20.833, variance 3.472, P(22 days) 0.734, computed
    path = three_guesses((2, 5, 6), (4, 6, 10), (3, 8, 11), (1, 2, 4))
    assert float(sum(variance for _, variance in path)) == pytest.approx(3.472, abs=5e-4)
    assert chance_within(path, 22) == pytest.approx(0.734, abs=DRAWN)
