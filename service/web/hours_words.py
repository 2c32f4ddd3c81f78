"""How hours that are not certain are written: as a range, as coarse as it is, never with false decimals."""

import math
from collections.abc import Callable, Mapping
from typing import Any

from service.reckoning.hours_left import HoursLeft
from service.web.words import tidy

MINUTES_TOGETHER = 5
HALF_HOURS_BELOW = 5


def hours_between(low: float, high: float) -> str:
    """A range of hours: whole hours, half hours below five, minutes in fives below one.

    >>> hours_between(31.2, 37.8), hours_between(1.4, 2.1), hours_between(0.3, 0.7), hours_between(12.1, 12.3)
    ('31 to 38 h', '1½ to 2 h', '20 to 40 min', 'about 12 h')
    """
    if high < 1:
        return _range(_minutes(low), _minutes(high), "min")
    if high < HALF_HOURS_BELOW:
        return _range(_halves(low), _halves(high), "h")
    return _range(f"{low:,.0f}", f"{high:,.0f}", "h")


def likely_left(left: HoursLeft | None) -> str:
    """The hours left as they are likely (eight times in ten); "nothing" when nothing is left."""
    if left is None or left.is_none:
        return "nothing"
    return f"likely {hours_between(left.at(10), left.at(90))}"


def a_unit(seconds: float) -> str:
    """The time of one unit, to seconds, and to minutes from ten of them on.

    >>> a_unit(22.4), a_unit(84), a_unit(915)
    ('22 s', '1 min 24 s', '15 min')
    """
    minutes, rest = divmod(round(seconds), 60)
    if minutes >= 10:
        return f"{round(seconds / 60)} min"
    return " ".join([*([f"{minutes} min"] if minutes else []), *([f"{rest} s"] if rest or not minutes else [])])


def shown_chance(chance: float) -> str:
    """A chance in words that a maker would use, with its whole percentage.

    >>> shown_chance(0.974), shown_chance(0.72), shown_chance(0.5), shown_chance(0.13)
    ('almost certain (97 %)', 'likely (72 %)', 'even (50 %)', 'unlikely (13 %)')
    """
    percent = math.floor(100 * chance + 0.5)
    word = next(word for least, word in CHANCES if percent >= least)
    return f"{word} ({percent} %)"


CHANCES = ((90, "almost certain"), (60, "likely"), (40, "even"), (11, "unlikely"), (0, "hardly possible"))


def _range(low: str, high: str, unit: str) -> str:
    if low == high:
        return f"about {high} {unit}"
    return f"up to {high} {unit}" if low == "0" else f"{low} to {high} {unit}"


def _minutes(hours: float) -> str:
    return str(MINUTES_TOGETHER * round(hours * 60 / MINUTES_TOGETHER))


def _halves(hours: float) -> str:
    whole, half = divmod(round(hours * 2), 2)
    return f"{whole or ''}½" if half else str(whole)


def plain(value: float) -> str:
    """A number with a tenth at most and no idle zeros.

    >>> plain(450.0), plain(4.5), plain(14_400)
    ('450', '4.5', '14,400')
    """
    return tidy(value)


def typed(value: float) -> str:
    """A number as it is typed into a field.

    >>> typed(1440.0), typed(4.5)
    ('1440', '4.5')
    """
    return tidy(value, 4).replace(",", "")


FILTERS: Mapping[str, Callable[..., Any]] = {
    "likely_left": likely_left,
    "plain": plain,
    "typed": typed,
    "a_unit": a_unit,
    "shown_chance": shown_chance,
}
