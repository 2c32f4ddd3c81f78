"""Checks on what was asked of the reckoning: nonsense is refused, named by its field."""

import math
import re

LARGEST = 10**15
SMALLEST = 1e-9
UNITS = {"mm": "mm", "cm": "cm", "m": "m", "per_cm": "per cm"}
_UNIT = re.compile(r"(?:^|[_.])(per_cm|mm|cm|m)(?:\.\d+)?$")


class Wrong(ValueError):
    """An argument that cannot be reckoned with: which field, and a sentence for the person who typed it."""

    def __init__(self, field: str, sentence: str) -> None:
        super().__init__(f"{field}: {sentence}")
        self.field = field
        self.sentence = sentence


def finite(field: str, value: float) -> float:
    """Return `value` when it is a finite number, else raise Wrong.

    >>> finite("width_mm", 9.144)
    9.144
    """
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise Wrong(field, "must be a number")
    if isinstance(value, int) and abs(value) > LARGEST:
        raise Wrong(field, "is too large to reckon with")
    if not math.isfinite(value):
        raise Wrong(field, "must be a number")
    return value


def above_zero(field: str, value: float, at_most: float = 1e9) -> float:
    """Return `value` when it is above zero and at most `at_most`, else raise Wrong.

    What is smaller than anything that can be measured is refused too: divided by, it would be endless.

    >>> above_zero("threads_per_cm", 0)
    Traceback (most recent call last):
    service.reckoning.asked.Wrong: threads_per_cm: must be above zero, not 0 per cm
    """
    if finite(field, value) <= 0:
        unit = _unit_of(field)
        raise Wrong(
            field, f"must be above zero, not {value:g} {unit}" if unit else f"must be above zero, not {value:g}"
        )
    if value < SMALLEST:
        raise Wrong(field, "is too small to reckon with")
    return _not_over(field, value, at_most)


def not_below(field: str, value: float, least: float = 0, at_most: float = 1e9) -> float:
    """Return `value` when it lies from `least` to `at_most`, else raise Wrong.

    >>> not_below("band_width_mm", 0)
    0
    """
    if finite(field, value) < least:
        if unit := _unit_of(field):
            raise Wrong(field, f"must be at least {least:g} {unit}, not {value:g} {unit}")
        raise Wrong(field, f"must be at least {least:g}, not {value:g}")
    return _not_over(field, value, at_most)


def _not_over(field: str, value: float, at_most: float) -> float:
    if value > at_most:
        if unit := _unit_of(field):
            raise Wrong(field, f"must be at most {at_most:g} {unit}, not {value:g} {unit}")
        raise Wrong(field, f"must be at most {at_most:g}, not {value:g}")
    return value


def _unit_of(field: str) -> str:
    """The unit that a field's name ends in, as it is said; nothing where it is no length and no count of cloth."""
    found = _UNIT.search(field)
    return UNITS[found[1]] if found else ""


def whole(field: str, value: float, least: int = 1, at_most: int = 1_000_000) -> int:
    """Return `value` as an int when it is a whole number from `least` to `at_most`, else raise Wrong.

    >>> whole("bundle_threads", 4)
    4
    """
    if finite(field, value) != int(value):
        raise Wrong(field, f"must be a whole number, not {value:g}")
    return int(not_below(field, int(value), least, at_most))
