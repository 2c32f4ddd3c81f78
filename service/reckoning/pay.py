"""What a stitcher has earned: her logged time at the pay an hour of the day on which she worked, to the minor unit."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from service.reckoning.asked import Wrong
from service.reckoning.money import half_up, money

SECONDS_PER_HOUR = 3600


@dataclass(frozen=True, slots=True)
class Before:
    """The pay an hour that held for work before a day; None where none was written down."""

    day: date
    per_hour: int | None


@dataclass(frozen=True, slots=True)
class AtOnePay:
    """Time worked at one pay an hour, in seconds, and what it comes to; `until` None is the pay of today."""

    until: date | None
    per_hour: int | None
    seconds: int

    @property
    def earned(self) -> int:
        """Minor units, rounded once, half up; nothing where no pay is written down.

        >>> AtOnePay(None, 1850, 5400).earned, AtOnePay(None, 1, 1800).earned, AtOnePay(None, None, 3600).earned
        (2775, 1, 0)
        """
        return half_up(Fraction(self.seconds * (self.per_hour or 0), SECONDS_PER_HOUR))


def pay_on(day: date, now: int | None, earlier: Sequence[Before]) -> int | None:
    """Return the pay an hour for work of that day: the earliest pay that held beyond it, else today's.

    >>> pay_on(date(2026, 3, 1), 1800, [Before(date(2026, 4, 1), 1600)])
    1600
    >>> pay_on(date(2026, 4, 1), 1800, [Before(date(2026, 4, 1), 1600)])
    1800
    """
    later = [each for each in earlier if each.day > day]
    return min(later, key=lambda each: each.day).per_hour if later else now


def pay_from(day: date, now: int | None, earlier: Sequence[Before]) -> tuple[Before, ...]:
    """Return the earlier pays, in order, once another pay than `now` counts from that day on.

    What held before the day stays as it was; what held later is forgotten. While no pay was ever written down the
    new one counts for all work.

    >>> [each.per_hour for each in pay_from(date(2026, 9, 1), 1800, [Before(date(2026, 4, 1), 1600)])]
    [1600, 1800]
    >>> pay_from(date(2026, 3, 1), 1800, [Before(date(2026, 4, 1), 1600)])
    (Before(day=datetime.date(2026, 3, 1), per_hour=1600),)
    >>> pay_from(date(2026, 3, 1), None, ())
    ()
    """
    if now is None and not earlier:
        return ()
    kept = sorted((each for each in earlier if each.day < day), key=lambda each: each.day)
    return (*kept, Before(day, pay_on(date.fromordinal(day.toordinal() - 1), now, earlier)))


def owed(stretches: Sequence[AtOnePay], paid: int) -> int:
    """Return what is owed: all that was earned, each pay rounded by itself, less what was paid; below zero if ahead.

    >>> owed([AtOnePay(None, 1850, 5400), AtOnePay(date(2026, 4, 1), 1600, 3600)], 4000)
    375
    """
    if any(each.per_hour is not None and each.per_hour < 0 for each in stretches):
        raise Wrong("per_hour", "must not be below zero")
    return sum(each.earned for each in stretches) - money("paid", paid)
