"""Lengths and counts in the units people use; inside, lengths are mm and counts threads per cm."""

from typing import Literal

from service.reckoning.asked import Wrong, finite

LengthUnit = Literal["mm", "cm", "in"]
CountUnit = Literal["cm", "in"]

MM_PER_INCH = 25.4
CM_PER_INCH = 2.54
UM_PER_MM = 1000

_MM_IN = {"mm": 1.0, "cm": 10.0, "in": MM_PER_INCH}
_CM_IN = {"cm": 1.0, "in": CM_PER_INCH}


def mm_from(value: float, unit: LengthUnit) -> float:
    """Return the length in mm of `value` given in `unit`; the inch is 25.4 mm exactly.

    >>> mm_from(2, "in")
    50.8
    """
    return finite("length", value) * _size_of(unit, _MM_IN)


def in_unit(length_mm: float, unit: LengthUnit) -> float:
    """Return `length_mm` in `unit`.

    >>> in_unit(50.8, "in")
    2.0
    """
    return finite("length_mm", length_mm) / _size_of(unit, _MM_IN)


def per_cm_from(count: float, unit: CountUnit) -> float:
    """Return threads per cm of a count of threads per `unit`.

    >>> round(per_cm_from(38, "in"), 3)
    14.961
    """
    return finite("count", count) / _size_of(unit, _CM_IN)


def count_in(threads_per_cm: float, unit: CountUnit) -> float:
    """Return threads per `unit` of a count of threads per cm.

    >>> count_in(20, "in")
    50.8
    """
    return finite("threads_per_cm", threads_per_cm) * _size_of(unit, _CM_IN)


def micrometres(length_mm: float) -> int:
    """Return `length_mm` in whole micrometres, to the nearest: the way a length is kept.

    >>> micrometres(25.4)
    25400
    """
    return round(finite("length_mm", length_mm) * UM_PER_MM)


def mm_of(length_um: int) -> float:
    """Return the mm of a length kept in micrometres.

    >>> mm_of(25400)
    25.4
    """
    return length_um / UM_PER_MM


def _size_of(unit: str, sizes: dict[str, float]) -> float:
    if unit not in sizes:
        raise Wrong("unit", f"must be one of {', '.join(sizes)}, not {unit!r}")
    return sizes[unit]
