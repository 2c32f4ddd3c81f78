"""What is said beside a child's size on the day.

For cutting cloth only: never a word about health, and no comparison with other children.
"""

import math
from dataclasses import dataclass

from service.reckoning.findings import Finding
from service.reckoning.growth_tables import What


@dataclass(frozen=True, slots=True)
class Reading:
    """What the sentences depend on: spans of length in mm, days born early, what was measured, not born yet."""

    likely_mm: tuple[float, float]
    allow_mm: tuple[float, float]
    early_days: int
    measured: frozenset[What]
    born_is_due: bool


AGAIN = (
    "From WHO growth tables and how much babies vary. This is for cutting cloth, not a health check. "
    "Please measure again 3 to 4 weeks before the day."
)
COUNTRY = Finding("country", "In some countries babies run about 1 cm longer or shorter than these tables.")
FORGIVING = Finding(
    "forgiving",
    "Choose what forgives an error: a drawn or buttoned back, growth tucks, a deep hem, "
    "a yoke cut to the upper figure, a bonnet with an adjustable back.",
)
CHEST = Finding("chest", "The chest is not predicted: measure it over nappy and vest.")
NOTHING_MEASURED = Finding(
    "not_measured",
    "No length has been measured, so the span is that of all babies of that age; a reading narrows it.",
)
HEAD = Finding(
    "head_stand_in",
    "No table tells how heads carry over from age to age, so the one for length stands in. "
    "A single head reading is easily off: take it twice.",
)
DUE = Finding("due", "The baby is not born yet: the day itself may move by weeks, and the size with it.")


def fit_findings(reading: Reading) -> tuple[Finding, ...]:
    """Return the sentences that belong beside the spans, the summary first."""
    found = [_summary(reading)]
    if reading.born_is_due:
        found.append(DUE)
    if reading.early_days:
        found.append(_early(reading))
    elif "length" not in reading.measured:
        found.append(NOTHING_MEASURED)
    if "head" in reading.measured and not reading.early_days:
        found.append(HEAD)
    return (*found, COUNTRY, FORGIVING, CHEST)


def _summary(reading: Reading) -> Finding:
    low, high = (_nearest(length) for length in reading.likely_mm)
    least, most = math.floor(reading.allow_mm[0] / 10), math.ceil(reading.allow_mm[1] / 10)
    text = f"Likely {low} to {high} cm on the day; cut to allow for {least} to {most} cm. {AGAIN}"
    return Finding("likely", text)


def _early(reading: Reading) -> Finding:
    unused = " Readings are not carried over, because the tables for that know only babies born at term."
    text = (
        f"Born early, so the age is counted from the day it was due, {reading.early_days} days later; "
        "the span is that of all babies of that age."
    )
    return Finding("early", text + (unused if reading.measured else ""))


def _nearest(length_mm: float) -> int:
    return math.floor(length_mm / 10 + 0.5)
