"""Lengths of a design as its forms show them: in mm, or in inches where the studio measures so. Its text holds mm."""

import re
from collections.abc import Callable, Mapping

from service.languages.spoken import unit_now

MM_PER_IN = 25.4
SHOWN_DECIMALS = 4
NEAR_MM = 0.0013  # half of the last decimal shown
WRITTEN = frozenset({"outline", "along", "points"})
"""Fields whose text is lengths: points across and down, or a path."""
NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d{1,2})?", re.ASCII)


def shown_unit(unit: str) -> str:
    """The unit of a field as its page names it."""
    return "in" if unit == "mm" and unit_now() == "in" else unit


def is_length(name: str) -> bool:
    """Whether a field of that name, within whichever part, holds a single length."""
    return name.endswith("_mm")


def is_written(name: str) -> bool:
    """Whether a field of that name, within whichever part, holds lengths as text."""
    return name.rpartition(".")[2] in WRITTEN


def from_mm(value_mm: float) -> float:
    """A length as its field shows it."""
    return round(value_mm / MM_PER_IN, SHOWN_DECIMALS) if unit_now() == "in" else value_mm


def to_mm(value: float) -> float:
    """A length as the design's text holds it: what was shown comes back as it was, what is typed anew is exact."""
    if unit_now() != "in":
        return value
    exact = round(value * MM_PER_IN, 6)
    return round(exact, 2) if abs(round(exact, 2) - exact) <= NEAR_MM else exact


def text_shown(text: str) -> str:
    """Lengths written as text, as their field shows them."""
    return _each(text, from_mm)


def text_kept(text: str) -> str:
    """The same as the design's text holds them."""
    return _each(text, to_mm)


def as_shown(values_mm: Mapping[str, str]) -> dict[str, str]:
    """What stands in a form before anything is typed, its lengths as their fields show them."""
    return {name: text_shown(value) if is_length(name) else value for name, value in values_mm.items()}


def _each(text: str, turned: Callable[[float], float]) -> str:
    if unit_now() != "in":
        return text
    return NUMBER.sub(lambda number: f"{turned(float(number[0])):.10g}", text)
