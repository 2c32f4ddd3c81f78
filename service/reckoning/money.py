"""Money: whole minor units of one ISO 4217 currency. No amount ever passes through a float.

Hours and percentages are given numbers: they are taken exactly as written (1.005 is 1.005, not the float's
1.00499...), multiplied as fractions, and rounded once.
"""

import math
from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from types import MappingProxyType

from service.reckoning.asked import Wrong, finite, not_below, whole

USUAL_DIGITS = 2
# ISO 4217, column "minor unit", wherever it is not 2; the tests hold this list against a published one
NO_DIGITS = frozenset(
    {
        "BIF",
        "CLP",
        "DJF",
        "GNF",
        "ISK",
        "JPY",
        "KMF",
        "KRW",
        "PYG",
        "RWF",
        "UGX",
        "UYI",
        "VND",
        "VUV",
        "XAF",
        "XOF",
        "XPF",
    }
)
THREE_DIGITS = frozenset({"BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"})
FOUR_DIGITS = frozenset({"CLF", "UYW"})
OTHER_DIGITS: Mapping[str, int] = MappingProxyType(
    dict.fromkeys(NO_DIGITS, 0) | dict.fromkeys(THREE_DIGITS, 3) | dict.fromkeys(FOUR_DIGITS, 4)
)
MOST_MINOR_UNITS = 10**15


def minor_digits(currency: str) -> int:
    """Return how many digits of this currency are minor units: 2 for most, 0 for yen, 3 for dinar (ISO 4217).

    `currency` is its three capitals; raises Wrong for anything else.

    >>> minor_digits("EUR"), minor_digits("JPY"), minor_digits("KWD")
    (2, 0, 3)
    """
    if not (len(currency) == 3 and currency.isascii() and currency.isalpha() and currency.isupper()):
        raise Wrong("currency", f"must be the three capitals of a currency, such as EUR, not {currency!r}")
    return OTHER_DIGITS.get(currency, USUAL_DIGITS)


def written(amount: int, digits: int) -> str:
    """Return minor units as a plain decimal number, without a currency or separators of thousands.

    >>> written(-8605, 2), written(1500, 0), written(5, 3)
    ('-86.05', '1500', '0.005')
    """
    return f"{Decimal(amount).scaleb(-digits):f}"


def exactly(field: str, value: float) -> Fraction:
    """Return a given number exactly as it is written in decimals.

    >>> exactly("hours_p50", 1.005)
    Fraction(201, 200)
    """
    return Fraction(repr(value if isinstance(value, int) else float(finite(field, value))))


def half_up(amount: Fraction) -> int:
    """Round to the nearest whole, halves away from zero, so that a charge and its taking back cancel.

    >>> half_up(Fraction(5, 2)), half_up(Fraction(-5, 2)), half_up(Fraction(7, 3))
    (3, -3, 2)
    """
    rounded = math.floor(abs(amount) + Fraction(1, 2))
    return rounded if amount >= 0 else -rounded


def percent_of(field: str, percent: float, amount: int) -> int:
    """Return `percent` of an amount, rounded half up. The percentage lies from 0 to 100.

    >>> percent_of("margin_percent", 12.5, 100)
    13
    """
    return half_up(exactly(field, not_below(field, percent, 0, 100)) / 100 * amount)


def up_to_step(amount: int, step: int) -> int:
    """Return the least whole multiple of `step` that is at least the amount.

    >>> up_to_step(72402, 500), up_to_step(72500, 500)
    (72500, 72500)
    """
    return -(-amount // step) * step


def shared_out(amount: int, weights: Sequence[Fraction]) -> tuple[int, ...]:
    """Share an amount out in proportion, by largest remainder (Hamilton): the shares add up to the amount exactly.

    Equal remainders go to the earlier share. Raises Wrong when the weights are negative or all zero.

    >>> shared_out(100, [Fraction(1), Fraction(1), Fraction(1)])
    (34, 33, 33)
    """
    total = sum(weights)
    if any(weight < 0 for weight in weights) or not total:
        raise Wrong("weights", "must not be negative, and not all zero")
    exact = [amount * weight / total for weight in weights]
    shares = [math.floor(each) for each in exact]
    by_remainder = sorted(range(len(exact)), key=lambda place: (shares[place] - exact[place], place))
    for place in by_remainder[: amount - sum(shares)]:
        shares[place] += 1
    return tuple(shares)


def money(field: str, value: int, least: int = 0) -> int:
    """Return `value` when it is a whole number of minor units from `least`, else raise Wrong."""
    return whole(field, value, least, MOST_MINOR_UNITS)
