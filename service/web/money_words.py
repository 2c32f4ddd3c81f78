"""How sums of money are written on pages and papers: every currency with the minor digits that ISO 4217 gives it."""

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from typing import Any

from babel.numbers import get_currency_symbol

from service.reckoning.money import minor_digits
from service.web import manner


def money(minor: int, currency: str) -> str:
    """A sum kept in minor units, with its currency.

    >>> money(123_450, "GBP"), money(900, "JPY"), money(-1_500, "KWD").split()
    ('£1,234.50', 'JP¥900', ['−KWD', '1.500'])
    """
    symbol = get_currency_symbol(currency, locale=manner.locale_now())
    return f"{'−' if minor < 0 else ''}{manner.sum_said(abs(money_typed(minor, currency)), symbol)}"


def money_typed(minor: int, currency: str) -> Decimal:
    """A sum kept in minor units, as it is typed into a form.

    >>> str(money_typed(123_450, "GBP")), str(money_typed(5, "IQD"))
    ('1234.50', '0.005')
    """
    return Decimal(minor).scaleb(-minor_digits(currency))


def hundredths(value: int) -> str:
    """A percentage kept in hundredths, without idle zeros.

    >>> hundredths(1500), hundredths(1750), hundredths(5)
    ('15', '17.5', '0.05')
    """
    return f"{value / 100:.2f}".rstrip("0").rstrip(".")


def quoted_hours(ms: int) -> str:
    """Hours as a quote reckons with them, to a hundredth.

    >>> quoted_hours(50_472_000)
    '14.02 h'
    """
    return manner.said(f"{ms / 3_600_000:.2f} h")


def ago(day: date, today: date) -> str:
    """How long a day is over, in words.

    >>> ago(date(2027, 5, 1), date(2027, 5, 2)), ago(date(2027, 4, 1), date(2027, 5, 2))
    ('for 1 day', 'for 4 weeks')
    """
    days = (today - day).days
    if days < 14:
        return f"for {days} day{'' if days == 1 else 's'}"
    return f"for {days // 7} weeks"


FILTERS: dict[str, Callable[..., Any]] = {
    "money": money,
    "hundredths": hundredths,
    "quoted_hours": quoted_hours,
    "ago": ago,
}
