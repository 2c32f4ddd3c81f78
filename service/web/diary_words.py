"""What pages say of days and chances."""

from collections.abc import Callable
from datetime import date
from functools import lru_cache
from typing import Any

from markupsafe import Markup, escape

from service.drawing.chance import chance_mark, chance_word
from service.reckoning.dates import shown_percent
from service.web import manner

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def chance(value: float) -> Markup:
    """A chance as a drawn thread, a percentage from 1 to 99, and a word."""
    return _chance(value)


@lru_cache(maxsize=1000)
def _chance(value: float) -> Markup:
    drawn = Markup(chance_mark(value))  # noqa: S704 (our own drawing; its figures are numbers)
    words = escape(chance_word(value))
    return Markup('<span class="chance">{} <span>{} %</span> <span class="quiet">{}</span></span>').format(
        drawn, shown_percent(value), words
    )


def weekday(day: date) -> str:
    """The day of the week.

    >>> weekday(date(2026, 11, 26))
    'Thursday'
    """
    return WEEKDAYS[day.weekday()]


def weekday_named(number: int) -> str:
    """The day of the week by its number from Monday.

    >>> weekday_named(1)
    'Tuesday'
    """
    return WEEKDAYS[number]


def month(day: date) -> str:
    """The month's name."""
    return manner.month_said(day, with_year=False)


def chance_percent(value: float) -> str:
    """A chance alone, from 1 to 99 %.

    >>> chance_percent(0.999)
    '99 %'
    """
    return f"{shown_percent(value)} %"


FILTERS: dict[str, Callable[..., Any]] = {
    "chance": chance,
    "chance_percent": chance_percent,
    "weekday": weekday,
    "weekday_named": weekday_named,
    "month": month,
}
