"""Amounts of work with their units: what is kept in tenths of a cm is shown and typed as the studio measures."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any, Protocol

from service.languages.spoken import said, unit_now
from service.web.words import tidy

CM_PER_IN = Decimal("2.54")
_UNIT_WORDS = {
    "thread": ("thread", "threads"),
    "knot": ("knot", "knots"),
    "join": ("join", "joins"),
    "end": ("end", "ends"),
    "clip": ("clip", "clips"),
    "motif": ("motif", "motifs"),
    "closure": ("button or loop", "buttons or loops"),
    "panel": ("panel", "panels"),
    "section": ("section", "sections"),
    "piece": ("piece", "pieces"),
    "skein": ("skein", "skeins"),
}


class HasUnit(Protocol):
    """Anything that names its operation and the unit it is counted in."""

    operation: str
    unit: str


def shown_amount(amount: float, unit: str) -> float:
    """An amount of work as it is shown: of a length in inches where the studio measures so, finely enough to be kept.

    >>> shown_amount(12.5, "knot"), shown_amount(12.7, "cm")
    (12.5, 12.7)
    """
    each = kept_of_one(unit)
    return amount if each == 1 else round(amount / float(each), 2)


def kept_amount(amount: Decimal, unit: str) -> Decimal:
    """An amount of work as the records keep it, to whole tenths: what was typed in inches in cm."""
    each = kept_of_one(unit)
    return amount if each == 1 else round(amount * each, 1).normalize()


def kept_of_one(unit: str) -> Decimal:
    """How much of a unit of work the records keep for one of it as it is shown."""
    return CM_PER_IN if unit == "cm" and unit_now() == "in" else Decimal(1)


def amount(amount_tenths: int, unit: str) -> str:
    """An amount kept in tenths, of that unit of work.

    >>> amount(3960, "thread"), amount(15, "cm")
    ('396', '1.5')
    """
    return tidy(shown_amount(amount_tenths / 10, unit), 2)


def counted(amount_tenths: int, unit: str) -> str:
    """An amount with its unit in words.

    >>> counted(10, "knot"), counted(960, "thread")
    ('1 knot', '96 threads')
    """
    return f"{amount(amount_tenths, unit)} {unit_of(amount_tenths, unit)}"


def unit_of(amount_tenths: int, unit: str) -> str:
    """A unit in words, one or several.

    >>> unit_of(10, "knot"), unit_of(960, "thread")
    ('knot', 'threads')
    """
    if unit == "cm":
        return unit_now()
    one, many = _UNIT_WORDS.get(unit, (unit, unit))
    return said(one if amount_tenths == 10 else many)


def unit_word(work: HasUnit) -> str:
    """The unit a count of this work is said in: a thread between two stop lines takes two clips."""
    return "clip" if work.operation == "clip" else work.unit


FILTERS: dict[str, Callable[..., Any]] = {
    "amount": amount,
    "counted": counted,
    "unit_of": unit_of,
    "unit_word": unit_word,
}
