"""Counts as people say them, per cm or per inch; inside, every count is threads per cm and the inch 2.54 cm exactly."""

from typing import Literal

from service.reckoning.asked import Wrong, finite

CountUnit = Literal["cm", "in"]

CM_PER_INCH = 2.54

_CM_IN = {"cm": 1.0, "in": CM_PER_INCH}


def per_cm_from(count: float, unit: CountUnit) -> float:
    """Return threads per cm of a count of threads per `unit`.

    >>> round(per_cm_from(38, "in"), 3)
    14.961
    """
    return finite("count", count) / _cm_in(unit)


def count_in(threads_per_cm: float, unit: CountUnit) -> float:
    """Return threads per `unit` of a count of threads per cm.

    >>> count_in(20, "in")
    50.8
    """
    return finite("threads_per_cm", threads_per_cm) * _cm_in(unit)


def unit_called(word: str) -> CountUnit:
    """Return the unit that a studio has written down; what is none of them is cm.

    >>> unit_called("in"), unit_called("cm")
    ('in', 'cm')
    """
    return "in" if word == "in" else "cm"


def _cm_in(unit: str) -> float:
    if unit not in _CM_IN:
        raise Wrong("unit", f"must be cm or in, not {unit!r}")
    return _CM_IN[unit]
