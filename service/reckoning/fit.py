"""How large the child is likely to be on the day, for cutting cloth: length, head, weight and the size class.

WHO tables and the conditional rule; nothing here is a statement about a child's health.
"""

from dataclasses import dataclass
from datetime import date

from service.reckoning.asked import Wrong, above_zero, not_below
from service.reckoning.expected import Expected, expected, value_at, z_of
from service.reckoning.findings import Finding
from service.reckoning.fit_words import Reading, fit_findings
from service.reckoning.growth_tables import LAST_DAY, Lms, Sex, What, lms_on

LIKELY_Z = 1.2816  # 80 % of children
ALLOW_Z = 1.6449  # 90 %
FARTHEST_Z = 3.0
TERM_WEEKS = 37
DUE_WEEKS = 40
LEAST_WEEKS = 32
SMALLEST_CLASS_CM = 50
CLASS_STEP_CM = 6
MEASURES: tuple[What, ...] = ("length", "head", "weight")
TAKE_AGAIN = "cannot be reckoned with: please take this reading again, and check its unit and its day"


@dataclass(frozen=True, slots=True)
class Measured:
    """One reading: lying length or head in mm, weight in g, and the day it was taken."""

    what: What
    value: float
    on: date


@dataclass(frozen=True, slots=True)
class FitAsk:
    """Whom to cut for, and the day.

    `born` is the day of birth, or the day it is due when `born_is_due`; `gestation_weeks` at birth, if early.
    """

    sex: Sex
    born: date
    on: date
    measured: tuple[Measured, ...] = ()
    gestation_weeks: float | None = None
    born_is_due: bool = False


@dataclass(frozen=True, slots=True)
class Span:
    """The middle, the likely span (80 %) and the one to cut for (90 %): mm to 0.1, or whole g."""

    middle: float
    likely: tuple[float, float]
    allow: tuple[float, float]


@dataclass(frozen=True, slots=True)
class SizeClass:
    """The size class in cm of body length: for the middle, and for the upper end of what is likely."""

    middle: int
    likely_high: int


@dataclass(frozen=True, slots=True)
class Fit:
    """The child on the day; `age_days` counts from birth, also for a child born early."""

    age_days: int
    length_mm: Span
    head_mm: Span
    weight_g: Span
    size: SizeClass
    findings: tuple[Finding, ...]


def fit_on_the_day(ask: FitAsk) -> Fit:
    """Return the spans and size classes for the day, and what to say beside them.

    The latest reading of each kind is carried to the day; without one, and for a child born early, the span is
    that of all children of that age. Raises Wrong for a day outside the tables (0 to 730 days), a child born
    before 32 weeks, a day before an early child's due date, and a reading that cannot be used.

    >>> from datetime import timedelta
    >>> born = date(2026, 1, 1)
    >>> seen = Measured("length", 620, born + timedelta(days=91))
    >>> fit = fit_on_the_day(FitAsk("girl", born, born + timedelta(days=274), (seen,)))
    >>> fit.length_mm
    Span(middle=720.4, likely=(697.5, 743.2), allow=(691.0, 749.7))
    >>> fit.size
    SizeClass(middle=74, likely_high=80)
    """
    age, early_days = _age_on_the_day(ask), _days_early(ask)
    day = age - early_days
    if day < 0:
        sentence = "comes before the day this baby was due: the tables do not reach it, so measure near the day"
        raise Wrong("on", sentence)
    latest = _latest_readings(ask, early_days)
    found = {what: _on_the_day(ask.sex, what, None if early_days else latest.get(what), day) for what in MEASURES}
    length = _span(*found["length"], 1)
    words = Reading(length.likely, length.allow, early_days, frozenset(latest), ask.born_is_due)
    upper = _at(found["length"], LIKELY_Z)
    size = SizeClass(size_class(_at(found["length"], 0)), size_class(upper))
    return Fit(age, length, _span(*found["head"], 1), _span(*found["weight"], 0), size, fit_findings(words))


def size_class(length_mm: float) -> int:
    """Return the smallest class of 50, 56, 62 … cm not below the length, which is first rounded to 0.1 cm.

    The number is the top of its range, as shops use it (as seen in retail charts); EN 13402-3 itself asks for
    the nearest.

    >>> size_class(740.05), size_class(740.6), size_class(491)
    (74, 80, 50)
    """
    over = round(above_zero("length_mm", length_mm)) - 10 * SMALLEST_CLASS_CM
    return SMALLEST_CLASS_CM + max(0, -(-over // (10 * CLASS_STEP_CM))) * CLASS_STEP_CM


def _age_on_the_day(ask: FitAsk) -> int:
    if ask.sex not in {"girl", "boy"}:
        raise Wrong("sex", f"must be girl or boy, not {ask.sex!r}: the tables are kept apart")
    for field, day in (("born", ask.born), ("on", ask.on)):
        _check_day(field, day)
    age = (ask.on - ask.born).days
    if age < 0:
        raise Wrong("on", "must not come before the child is born")
    if age > LAST_DAY:
        sentence = f"is {age} days after birth; the tables end at {LAST_DAY}, so measure the child instead"
        raise Wrong("on", sentence)
    return age


def _check_day(field: str, day: date) -> None:
    if type(day) is not date:
        raise Wrong(field, "must be a day")


def _days_early(ask: FitAsk) -> int:
    """Return the days to take off the age: 40 weeks less the weeks at birth, for a child born before 37."""
    if ask.gestation_weeks is None:
        return 0
    if ask.born_is_due:
        raise Wrong("gestation_weeks", "is not known before the birth: leave it out")
    weeks = not_below("gestation_weeks", ask.gestation_weeks, 20, 45)
    if weeks < LEAST_WEEKS:
        sentence = f"a baby born before {LEAST_WEEKS} weeks is not reckoned from a table: measure near the day"
        raise Wrong("gestation_weeks", sentence)
    return round((DUE_WEEKS - weeks) * 7) if weeks < TERM_WEEKS else 0


def _latest_readings(ask: FitAsk, early_days: int) -> dict[What, tuple[int, float]]:
    """Return each measure's latest reading as (day, z-score); of two on one day the later given counts."""
    if ask.measured and ask.born_is_due:
        raise Wrong("measured", "a baby not born yet has not been measured: leave the readings out")
    latest: dict[What, tuple[int, float]] = {}
    for place, reading in enumerate(ask.measured):
        day, z = _checked(ask, f"measured.{place}", reading, early_days)
        if reading.what not in latest or day >= latest[reading.what][0]:
            latest[reading.what] = day, z
    return latest


def _checked(ask: FitAsk, field: str, reading: Measured, early_days: int) -> tuple[int, float]:
    if reading.what not in MEASURES:
        raise Wrong(f"{field}.what", f"must be length, head or weight, not {reading.what!r}")
    value = above_zero(f"{field}.value", reading.value)
    _check_day(f"{field}.on", reading.on)
    if not ask.born <= reading.on <= ask.on:
        raise Wrong(f"{field}.on", "must lie between the birth and the day")
    day = (reading.on - ask.born).days - early_days
    z = z_of(lms_on(reading.what, ask.sex, max(0, day)), value)
    if day >= 0 and abs(z) > FARTHEST_Z:
        raise Wrong(f"{field}.value", TAKE_AGAIN)
    return day, z


def _on_the_day(sex: Sex, what: What, reading: tuple[int, float] | None, day: int) -> tuple[Lms, Expected]:
    row = lms_on(what, sex, day)
    return row, Expected() if reading is None else expected(what, reading[1], reading[0], day)


def _at(found: tuple[Lms, Expected], z: float) -> float:
    row, on_the_day = found
    return value_at(row, on_the_day.z + z * on_the_day.spread)


def _span(row: Lms, on_the_day: Expected, digits: int) -> Span:
    def at(z: float) -> float:
        return round(_at((row, on_the_day), z), digits)

    return Span(at(0), (at(-LIKELY_Z), at(LIKELY_Z)), (at(-ALLOW_Z), at(ALLOW_Z)))
