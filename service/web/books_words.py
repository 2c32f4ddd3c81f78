"""How time in the books is written: as it was logged, to the minute, with nothing rounded away unsaid."""

from collections.abc import Callable, Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from service.web import manner

SECONDS_PER_MINUTE = 60
MINUTES_PER_HOUR = 60


def worked(seconds: int) -> str:
    """Hours and minutes; seconds only where there are some.

    >>> worked(9_000), worked(2_700), worked(36_000), worked(0), worked(95), worked(-1800), worked(4_500_000)
    ('2 h 30 min', '45 min', '10 h', 'none', '1 min 35 s', 'less 30 min', '1,250 h')
    """
    if seconds < 0:
        return f"less {worked(-seconds)}"
    minutes, left = divmod(seconds, SECONDS_PER_MINUTE)
    hours, minutes = divmod(minutes, MINUTES_PER_HOUR)
    parts = [f"{manner.said(f'{hours:,}')} h"] if hours else []
    parts += [f"{minutes} min"] if minutes else []
    parts += [f"{left} s"] if left else []
    return " ".join(parts) or "none"


def month_and_year(first_day: date) -> str:
    """A month by its first day.

    >>> month_and_year(date(2027, 5, 1))
    'May 2027'
    """
    return manner.month_said(first_day)


def minutes(seconds: int) -> Decimal:
    """Minutes for a spreadsheet, to a hundredth.

    >>> minutes(95), minutes(9000)
    (Decimal('1.58'), Decimal('150.00'))
    """
    return (Decimal(seconds) / SECONDS_PER_MINUTE).quantize(Decimal("0.01"))


FILTERS: Mapping[str, Callable[..., Any]] = {"worked": worked, "month_and_year": month_and_year}
