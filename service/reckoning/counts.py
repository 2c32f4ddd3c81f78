"""How many threads a cloth has to the cm, and what a number of threads measures on it.

ISO 7211-2 (1984, the same as EN 1049-2) counts threads per centimetre, warp and weft apart, and allows
unravelling, a counting glass, or a traversing counter (seen in its published scope). ASTM D3775 reports
warp ends and filling picks apart, in SI units with inch values for information (seen in excerpt).
From memory, not seen: ISO's mean of at least 5 places, each over the distance in `ASKED_DISTANCES`;
D3775's 5 places of 25 mm, or 75 mm below 25 threads to the inch.
"""

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass

from service.reckoning.asked import Wrong, above_zero, not_below, whole
from service.reckoning.findings import Finding
from service.reckoning.lengths import CM_PER_INCH

LEAST_PER_CM = 0.1
MOST_PER_CM = 1000
MOST_THREADS = 1_000_000
MOST_READINGS = 1000
DUST = 1e-9  # float dust of one division and one product, in threads

PLACES_ASKED = 5  # ISO 7211-2, from memory
ASKED_DISTANCES = (  # (below so many threads per cm, count over mm): ISO 7211-2, from memory
    (10.0, 100.0),
    (25.0, 50.0),
    (40.0, 30.0),
    (math.inf, 20.0),
)
WIDE_SPREAD_PERCENT = 5.0  # common practice, no source


@dataclass(frozen=True, slots=True)
class Reading:
    """One place on the cloth: so many threads counted over so many mm."""

    threads: int
    over_mm: float


@dataclass(frozen=True, slots=True)
class Count:
    """One system of a cloth: the mean of its places, and how far the places differ."""

    threads_per_cm: float
    threads_per_inch: float
    sd_per_cm: float
    cv_percent: float
    places: int


@dataclass(frozen=True, slots=True)
class Conversion:
    """A number of threads or a width carried to another cloth.

    `width_mm` is what was wanted, `actual_width_mm` what the whole `threads` give, `error_mm` is actual less wanted.
    """

    width_mm: float
    threads: int
    actual_width_mm: float
    error_mm: float


def count_of(readings: Sequence[Reading]) -> Count:
    """Return the count of one system (warp or weft) from readings at one or more places.

    The count is the mean of the places' own counts, as both standards ask for the mean over places; a long
    reading therefore weighs no more than a short one. The spread is the standard deviation between places
    (one less than the places as divisor), 0 for a single place. Raises Wrong for no readings or nonsense.

    >>> count = count_of([Reading(100, 50), Reading(102, 50), Reading(98, 50)])
    >>> count.threads_per_cm, count.threads_per_inch, round(count.sd_per_cm, 3), round(count.cv_percent, 3)
    (20.0, 50.8, 0.4, 2.0)
    """
    counts = _counts_of_places(readings)
    mean = statistics.fmean(counts)
    spread = statistics.stdev(counts) if len(counts) > 1 else 0.0
    return Count(mean, mean * CM_PER_INCH, spread, 100 * spread / mean, len(counts))


def findings_of(readings: Sequence[Reading]) -> tuple[Finding, ...]:
    """Return what a careful counter would still do: more places, a longer distance, a second look.

    >>> [finding.code for finding in findings_of([Reading(20, 10)])]
    ['few_places', 'short_distance']
    """
    count = count_of(readings)
    found = []
    if count.places < PLACES_ASKED:
        found.append(Finding("few_places", _few_places(count.places)))
    asked_mm = distance_asked(count.threads_per_cm)
    if min(reading.over_mm for reading in readings) < asked_mm:
        found.append(
            Finding(
                "short_distance",
                f"At {count.threads_per_cm:.1f} threads per cm, count over at least {asked_mm:g} mm: "
                "one thread more or less then matters least.",
            )
        )
    if count.cv_percent > WIDE_SPREAD_PERCENT:
        found.append(
            Finding(
                "wide_spread",
                f"The places differ by {count.cv_percent:.1f} % of the count: count again, "
                "and count the very stretch that the band will cross.",
            )
        )
    return tuple(found)


def distance_asked(threads_per_cm: float) -> float:
    """Return the mm to count over at that count (ISO 7211-2's table, from memory, not seen).

    >>> distance_asked(20)
    50.0
    """
    checked_count("threads_per_cm", threads_per_cm)
    return next(over_mm for below, over_mm in ASKED_DISTANCES if threads_per_cm < below)


def width_of(threads: float, threads_per_cm: float) -> float:
    """Return the mm that `threads` measure on cloth of that count.

    >>> width_of(18, 20)
    9.0
    """
    not_below("threads", threads, at_most=MOST_THREADS)
    return threads * 10 / checked_count("threads_per_cm", threads_per_cm)


def threads_in(width_mm: float, threads_per_cm: float, field: str = "width_mm") -> int:
    """Return the nearest whole number of threads in `width_mm`, a half counted up; 0 below half a thread.

    `field` is what a refusal names.

    >>> threads_in(9.144, 76 / 2.54)
    27
    """
    not_below(field, width_mm)
    threads = width_mm * checked_count("threads_per_cm", threads_per_cm) / 10
    if threads > MOST_THREADS:
        raise Wrong(field, f"comes to {threads:.0f} threads; at most {MOST_THREADS} can be reckoned")
    return math.floor(threads + 0.5 + DUST)


def convert(
    *,
    threads: int | None = None,
    width_mm: float | None = None,
    from_threads_per_cm: float | None = None,
    to_threads_per_cm: float,
) -> Conversion:
    """Carry a number of threads, or a width, to a cloth of another count, through the measured width.

    Give `threads` with the count `from_threads_per_cm` they were counted on, or `width_mm` in mm.
    Raises Wrong when both or neither is given.

    >>> found = convert(threads=18, from_threads_per_cm=50 / 2.54, to_threads_per_cm=76 / 2.54)
    >>> round(found.width_mm, 3), found.threads, round(found.actual_width_mm, 3), round(found.error_mm, 3)
    (9.144, 27, 9.024, -0.12)
    """
    if from_threads_per_cm is not None:
        checked_count("from_threads_per_cm", from_threads_per_cm)
    checked_count("to_threads_per_cm", to_threads_per_cm)
    wanted_mm = _wanted_width(threads, width_mm, from_threads_per_cm)
    carried = threads_in(wanted_mm, to_threads_per_cm, "threads" if width_mm is None else "width_mm")
    actual_mm = width_of(carried, to_threads_per_cm)
    return Conversion(wanted_mm, carried, actual_mm, actual_mm - wanted_mm)


def checked_count(field: str, threads_per_cm: float) -> float:
    """Return a count of threads per cm that a cloth can have, else raise Wrong.

    >>> checked_count("threads_per_cm", 38 / 2.54) < 15
    True
    """
    above_zero(field, threads_per_cm)
    return not_below(field, threads_per_cm, LEAST_PER_CM, MOST_PER_CM)


def _wanted_width(threads: int | None, width_mm: float | None, from_threads_per_cm: float | None) -> float:
    if (threads is None) == (width_mm is None):
        raise Wrong("threads", "give the threads or the width, one of the two")
    if width_mm is not None:
        return above_zero("width_mm", width_mm)
    if from_threads_per_cm is None:
        raise Wrong("from_threads_per_cm", "is needed to know how wide those threads are")
    return width_of(whole("threads", threads or 0), from_threads_per_cm)


def _counts_of_places(readings: Sequence[Reading]) -> list[float]:
    if not readings:
        raise Wrong("readings", "give at least one place")
    if len(readings) > MOST_READINGS:
        raise Wrong("readings", f"give at most {MOST_READINGS} places")
    return [_count_at(f"readings.{place}", reading) for place, reading in enumerate(readings)]


def _count_at(field: str, reading: Reading) -> float:
    threads = whole(f"{field}.threads", reading.threads)
    over_mm = above_zero(f"{field}.over_mm", reading.over_mm)
    return checked_count(f"{field}.threads", threads * 10 / over_mm)


def _few_places(places: int) -> str:
    counted = "one place" if places == 1 else f"{places} places"
    return f"Counted at {counted}: count at {PLACES_ASKED} or more, spread over the cloth and away from the selvedge."
