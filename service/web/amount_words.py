"""Amounts of work with their units: what is kept in tenths of a cm is shown and typed as the studio measures."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any, Protocol

from service.languages.spoken import said, unit_now
from service.reckoning.by_length import price_kept, price_said
from service.reckoning.lengths import unit_called
from service.web.forms import Form
from service.web.words import UM_PER_EIGHTH, cloth_length, tidy

KEPT_OF_ONE = {"cm": Decimal("2.54"), "m": Decimal("0.9144")}
"""How much the records keep for an inch of what they keep in cm, and for a yard of what they keep in metres."""
LONG = {"cm": "m", "in": "yd"}
THOUSANDTHS = 1000
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
    return KEPT_OF_ONE.get(unit, Decimal(1)) if unit_now() == "in" else Decimal(1)


def price_shown(minor: int, unit: str) -> int:
    """The price of one of that unit as it is shown, of one kept for a metre where the unit is that."""
    return price_said(minor, unit_called(unit_now())) if unit == "m" else minor


def price_to_keep(minor: int | None, unit: str) -> int | None:
    """The price to keep, of one typed as it is shown."""
    return price_kept(minor, unit_called(unit_now())) if unit == "m" and minor is not None else minor


def on_shelf(amount_thousandths: int, unit: str) -> str:
    """An amount of a supply without its unit: what is kept in metres in yards where the studio measures so.

    A length that is as near to eighths of a yard as the records can say is written in them.

    >>> on_shelf(2500, "piece"), on_shelf(-12_000, "m")
    ('2.5', '-12')
    """
    if unit != "m" or unit_now() != "in":
        return tidy(amount_thousandths / THOUSANDTHS, 3)
    eighths = round(amount_thousandths * THOUSANDTHS / UM_PER_EIGHTH)
    near = abs(eighths * UM_PER_EIGHTH - amount_thousandths * THOUSANDTHS) <= THOUSANDTHS
    um = abs(eighths) * UM_PER_EIGHTH if near else abs(amount_thousandths) * THOUSANDTHS
    return f"{'-' if amount_thousandths < 0 and um else ''}{cloth_length(um, 'in').removesuffix(' yd')}"


def typed_for_shelf(
    form: Form, field: str, unit: str, *, called: str = "the amount", needed: bool = True, above: bool = False
) -> int | None:
    """An amount of a supply in thousandths as it is kept; a length in yards may be typed in fractions."""
    if unit == "m" and unit_now() == "in":
        um = form.length_um(field, "yd", called=called, most=1_000_000, needed=needed, above=above)
        return None if um is None else round(um / THOUSANDTHS)
    amount = form.decimal(field, called=called, most=1_000_000, needed=needed, above=above)
    if amount is not None and amount * THOUSANDTHS != (amount * THOUSANDTHS).to_integral_value():
        form.fault(field, "Write the amount to a thousandth at the finest.")
    return None if amount is None else int(amount * THOUSANDTHS)


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
    if unit == "m":
        return LONG[unit_now()]
    one, many = _UNIT_WORDS.get(unit, (unit, unit))
    return said(one if amount_tenths == 10 else many)


def unit_word(work: HasUnit) -> str:
    """The unit a count of this work is said in: a thread between two stop lines takes two clips."""
    return "clip" if work.operation == "clip" else work.unit


FILTERS: dict[str, Callable[..., Any]] = {
    "amount": amount,
    "on_shelf": on_shelf,
    "price_shown": price_shown,
    "counted": counted,
    "unit_of": unit_of,
    "unit_word": unit_word,
}
