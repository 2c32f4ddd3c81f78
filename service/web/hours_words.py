"""How hours that are not certain are written: as a range, as coarse as it is, never with false decimals."""

from collections.abc import Callable, Mapping
from typing import Any

from service.reckoning.hours_left import HoursLeft
from service.reckoning.paces import Range
from service.studio.record import StudioRecord
from service.web import manner
from service.web.amount_words import kept_of_one
from service.web.words import tidy

MINUTES_TOGETHER = 5
HALF_HOURS_BELOW = 5
SECONDS_BELOW = 90
HALF_MINUTES_BELOW = 600


def hours_between(low: float, high: float) -> str:
    """A range of hours: whole hours, half hours below five, minutes in fives below one.

    >>> hours_between(31.2, 37.8), hours_between(1.4, 2.1), hours_between(0.3, 0.7), hours_between(12.1, 12.3)
    ('31 to 38 h', '1½ to 2 h', '20 to 40 min', 'about 12 h')
    """
    if high < 1:
        return _range(_minutes(low), _minutes(high), "min")
    if high < HALF_HOURS_BELOW:
        return _range(_halves(low), _halves(high), "h")
    return _range(tidy(low, 0), tidy(high, 0), "h")


def roughly(hours: float) -> str:
    """One number of hours, as coarse as a range of them.

    >>> roughly(14.2), roughly(1.6), roughly(0.3)
    ('14 h', '1½ h', '20 min')
    """
    return hours_between(hours, hours).removeprefix("about ")


def likely_left(left: HoursLeft | None) -> str:
    """The hours left as they are likely (eight times in ten); "nothing" when nothing is left."""
    if left is None or left.is_none:
        return "nothing"
    return f"likely {hours_between(left.at(10), left.at(90))}"


def held(record: StudioRecord) -> str:
    """How the studio's own ranges held, in a sentence."""
    pieces, inside = record.held.garments, record.held.inside
    if pieces == 1:
        return f"The piece finished last fell {'inside' if inside else 'outside'} the range foreseen."
    return f"Of the last {pieces} pieces finished {inside} fell inside the range foreseen."


def pace(seconds: Range, unit: str = "") -> str:
    """The likely time of one unit (eight times in ten): seconds, half minutes from one and a half, minutes from ten.

    One of a length is that of the studio's unit.

    >>> pace(Range(18.3, 21, 23.9)), pace(Range(70, 84, 110)), pace(Range(850, 915, 1010))
    ('18 to 24 s', '1 to 2 min', '14 to 17 min')
    """
    each = float(kept_of_one(unit))
    seconds = Range(seconds.p10 * each, seconds.p50 * each, seconds.p90 * each)
    if seconds.p90 < SECONDS_BELOW:
        return _range(f"{seconds.p10:.0f}", f"{seconds.p90:.0f}", "s")
    if seconds.p90 < HALF_MINUTES_BELOW:
        return _range(_halves(seconds.p10 / 60), _halves(seconds.p90 / 60), "min")
    return _range(f"{seconds.p10 / 60:.0f}", f"{seconds.p90 / 60:.0f}", "min")


def narrower(share: float) -> str:
    """How much narrower a range comes to be, in words.

    >>> narrower(0.002), narrower(0.043), narrower(0.22)
    ('hardly narrower', '4 % narrower', '22 % narrower')
    """
    percent = round(100 * share)
    return f"{percent} % narrower" if percent else "hardly narrower"


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
    return manner.typed(round(float(value), 4))


FILTERS: Mapping[str, Callable[..., Any]] = {
    "likely_left": likely_left,
    "roughly": roughly,
    "plain": plain,
    "typed": typed,
    "hours_between": hours_between,
    "held": held,
    "pace": pace,
    "narrower": narrower,
}
