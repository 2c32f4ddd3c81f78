"""What a length costs: a price is kept for a metre, and is that of a yard where a studio measures in inches."""

from fractions import Fraction

from service.reckoning.lengths import CountUnit
from service.reckoning.money import half_up

UM_PER = {"cm": 1_000_000, "in": 914_400}
"""The length that a price is said for, by the studio's unit of length: a metre or a yard, in whole micrometres."""


def price_said(minor_per_m: int, unit: CountUnit) -> int:
    """Return the price of a metre or a yard, in whole minor units, of a price kept for a metre.

    Whatever price of a yard was kept comes back as it was: it is the smaller length, so that rounding loses nothing.

    >>> price_said(1094, "in"), price_said(1094, "cm")
    (1000, 1094)
    """
    return half_up(Fraction(minor_per_m * UM_PER[unit], UM_PER["cm"]))


def price_kept(minor: int, unit: CountUnit) -> int:
    """Return the price to keep for a metre, in whole minor units, of one said for a metre or a yard.

    >>> price_kept(1000, "in"), all(price_said(price_kept(minor, "in"), "in") == minor for minor in range(5000))
    (1094, True)
    """
    return half_up(Fraction(minor * UM_PER["cm"], UM_PER[unit]))


def cost_minor(minor_per_m: int, length_um: int, unit: CountUnit) -> Fraction:
    """Return what a length costs, in minor units not rounded yet, at the price as it is said.

    >>> cost_minor(1094, 2 * 914_400, "in"), cost_minor(1094, 500_000, "cm")
    (Fraction(2000, 1), Fraction(547, 1))
    """
    return Fraction(price_said(minor_per_m, unit) * length_um, UM_PER[unit])
