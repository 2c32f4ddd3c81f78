"""How figures and words are written on pages: lengths, counts, hours, days. Formatting only."""

from collections.abc import Callable, Mapping
from datetime import date, datetime
from typing import Any, Protocol
from zoneinfo import ZoneInfo

from service.languages.spoken import said, unit_now
from service.web import manner

UM_PER_CM = 10_000
UM_PER_EIGHTH = 114_300
EIGHTHS = ("", "⅛", "¼", "⅜", "½", "⅝", "¾", "⅞")
UM_PER_IN = 25_400
MM_PER_IN = 25.4
UM_PER_LONG = {"m": 1_000_000, "yd": 914_400}
LONG_UNIT = {"cm": "m", "in": "yd"}
QUARTERS = ("", "¼", "½", "¾")

KIND_WORDS: Mapping[str, str] = {
    "hem_band": "hem band",
    "ladder": "ladder",
    "ladder_paired": "ladder knotted in pairs",
    "serpentine": "serpentine",
    "alternating": "alternating band",
    "tuck_band": "tuck band",
    "tuck": "tuck",
    "binding": "binding",
    "seam": "seam",
    "lace": "lace",
    "motif": "motif",
    "closure": "closure",
}
OPERATION_WORDS: Mapping[str, str] = {
    "cut_block": "cut the block",
    "wash": "wash",
    "trace": "trace",
    "mark": "mark",
    "baste": "fold and baste",
    "edge_stitch": "edge-stitch the stop line",
    "clip": "clip",
    "withdraw": "withdraw",
    "hem_knot": "knot the hem edge",
    "ladder_knot": "knot the edges",
    "pair_knot": "knot in pairs",
    "alternating_knot": "knot by turns",
    "tuck_knot": "knot the tuck",
    "secure": "secure the open ends",
    "cut_bias": "cut the bias",
    "bias_join": "join the bias",
    "stitch_bias": "stitch the bias on",
    "whip_bias": "whip the bias down",
    "fasten_off": "fasten off",
    "seam": "sew the seam",
    "lace": "whip the lace on",
    "embroider": "embroider",
    "closure": "make the closures",
    "press": "press",
    "inspect": "look it over",
    "retrace": "trace again",
    "cut_out": "cut out",
}


class HasWork(Protocol):
    """Anything that says how much work it was and is."""

    planned_ms: int
    left_ms: int


class HasAmounts(Protocol):
    """Anything that is done so far, of so much, at so much time a unit."""

    quantity_tenths: int
    done_tenths: int
    unit_ms: int


def tidy(value: float, places: int = 1) -> str:
    """A number with at most that many decimals and no idle zeros.

    >>> tidy(12.0), tidy(9.144), tidy(0)
    ('12', '9.1', '0')
    """
    text = f"{value:,.{places}f}"
    return manner.said(text.rstrip("0").rstrip(".") if "." in text else text)


def measure(um: float, unit: str = "cm", places: int = 1) -> str:
    """A length kept in micrometres, in the studio's unit."""
    return f"{tidy(um / (UM_PER_IN if unit == 'in' else UM_PER_CM), places)} {unit}"


def cloth_length(um: float, unit: str = "cm") -> str:
    """A length of cloth: in metres where the studio measures in cm; in yards where in inches, by eighths if it is so.

    >>> cloth_length(3_250_000), cloth_length(914_400, "in"), cloth_length(2_857_500, "in"), cloth_length(10**6, "in")
    ('3.25 m', '1 yd', '3⅛ yd', '1.09 yd')
    """
    yards, eighths = divmod(round(um), UM_PER_LONG["yd"])
    if unit == "in" and not eighths % UM_PER_EIGHTH:
        return f"{tidy(yards, 0) if yards or not eighths else ''}{EIGHTHS[eighths // UM_PER_EIGHTH]} yd"
    long_unit = LONG_UNIT[unit]
    return f"{tidy(um / UM_PER_LONG[long_unit], 2)} {long_unit}"


def over_length(um: int, unit: str = "cm") -> str:
    """A length that threads were counted over, as it was most likely measured.

    >>> over_length(50_000), over_length(6_350), over_length(38_100), over_length(127_000, "in")
    ('5 cm', '¼ in', '1½ in', '5 in')
    """
    inches, rest = divmod(um, UM_PER_IN)
    quarter, beside = divmod(rest, UM_PER_IN // 4)
    if not beside and (unit == "in" or um % 1000):
        return f"{inches or ''}{QUARTERS[quarter]} in"
    return f"{tidy(um / UM_PER_CM, 3)} cm"


def mm(value: float, places: int = 1) -> str:
    """A length in mm, in a studio of inches to a hundredth of an inch or finer."""
    return f"{tidy(value / MM_PER_IN, places + 2)} in" if unit_now() == "in" else f"{tidy(value, places)} mm"


def fine(value_mm: float, unit: str = "cm") -> str:
    """A small length in mm, or in inches where the studio measures in inches, to a hair's breadth.

    >>> fine(9.1437), fine(9.144, "in")
    ('9.14 mm', '0.36 in')
    """
    return f"{tidy(value_mm / MM_PER_IN, 3)} in" if unit == "in" else f"{tidy(value_mm, 2)} mm"


def depth(um: int, unit: str = "cm") -> str:
    """The depth of a band kept in micrometres: a small length, in mm to a tenth.

    >>> depth(8_380), depth(9_144, "in")
    ('8.4 mm', '0.36 in')
    """
    return fine(um / 1000, unit) if unit == "in" else f"{tidy(um / 1000)} mm"


def drawn_length(length_mm: float) -> str:
    """A length beside a drawing, in the studio's unit and manner: mm or inches."""
    return mm(length_mm)


def more_or_less(value_mm: float, unit: str = "cm") -> str:
    """A small difference in length, said as more or less.

    >>> more_or_less(-0.12), more_or_less(0.0004), more_or_less(0.254, "in")
    ('0.12 mm less', 'none', '0.01 in more')
    """
    said = fine(abs(value_mm), unit)
    return "none" if said.startswith("0 ") else f"{said} {'more' if value_mm > 0 else 'less'}"


def signed_mm(value: float) -> str:
    """A difference in mm, said as more or less.

    >>> signed_mm(-0.124), signed_mm(0.0), signed_mm(1.5)
    ('0.1 mm less', 'exactly', '1.5 mm more')
    """
    if abs(value) < 0.05:
        return "exactly"
    return f"{tidy(abs(value))} mm {'more' if value > 0 else 'less'}"


def per(threads_per_cm: float, unit: str = "cm", places: int = 1) -> str:
    """A count of cloth, per cm or per inch."""
    return said(f"{tidy(threads_per_cm * (2.54 if unit == 'in' else 1), places)} per {unit}")


def count_number(threads_per_cm: float, unit: str = "cm") -> str:
    """A count of cloth without its unit."""
    return per(threads_per_cm, unit).partition(" ")[0]


def signed_percent(value: float) -> str:
    """A change in per cent to one decimal; less than nothing has its sign.

    >>> signed_percent(-5.64), signed_percent(0.02), signed_percent(1.0)
    ('−5.6 %', '0.0 %', '+1.0 %')
    """
    rounded = round(value, 1) or 0.0
    sign = "−" if rounded < 0 else "+" if rounded > 0 else ""
    return manner.said(f"{sign}{abs(rounded):.1f} %")


def tenths(value: int) -> str:
    """An amount kept in tenths.

    >>> tenths(3960), tenths(15)
    ('396', '1.5')
    """
    return tidy(value / 10)


def at_home(moment: datetime, time_zone: str) -> str:
    """A moment where the studio is.

    >>> from datetime import UTC
    >>> at_home(datetime(2027, 5, 16, 8, 5, tzinfo=UTC), "Europe/London")
    '16 May 27, 09:05'
    """
    local = moment.astimezone(ZoneInfo(time_zone))
    return f"{short_day(local)}, {manner.clock_said(local)}"


def day_at_home(moment: datetime, time_zone: str) -> str:
    """The day of a moment where the studio is, for a ledger column.

    >>> from datetime import UTC
    >>> day_at_home(datetime(2027, 5, 16, 23, 5, tzinfo=UTC), "Europe/London")
    '17 May 27'
    """
    return short_day(moment.astimezone(ZoneInfo(time_zone)))


def hours(milliseconds: float) -> str:
    """Time in words a stitcher would use, never with false decimals.

    >>> hours(0), hours(25 * 60_000), hours(150 * 60_000), hours(31.4 * 3_600_000)
    ('nothing', '25 min', '2½ h', '31 h')
    """
    minutes = milliseconds / 60_000
    if minutes <= 0:
        return "nothing"
    if minutes < 55:
        return f"{max(1, round(minutes / 5) * 5 if minutes >= 10 else round(minutes))} min"
    halves = round(minutes / 30)
    if halves >= 20:
        return f"{round(minutes / 60)} h"
    return f"{halves // 2}{'½' if halves % 2 else ''} h"


def logged(seconds: float) -> str:
    """Time that was written down, as it was written: in minutes, not rounded as guesses are.

    >>> logged(12 * 60), logged(95 * 60), logged(150), logged(20)
    ('12 min', '95 min', '2.5 min', '0.33 min')
    """
    return f"{tidy(seconds / 60, 2)} min"


def day(value: date | datetime | None) -> str:
    """A day as written in a diary.

    >>> day(date(2027, 5, 16))
    '16 May 2027'
    """
    return manner.day_said(value) if value else ""


def short_day(value: date | datetime | None) -> str:
    """A day for a ledger column.

    >>> short_day(date(2027, 5, 16))
    '16 May 27'
    """
    return manner.day_said(value, "short") if value else ""


def weeks_from(value: date, today: date) -> str:
    """How far a day lies from today, in words.

    >>> weeks_from(date(2027, 5, 16), date(2027, 3, 1)), weeks_from(date(2027, 5, 16), date(2027, 5, 20))
    ('in 11 weeks', '4 days ago')
    """
    days = (value - today).days
    if days == 0:
        return "today"
    amount = abs(days)
    if amount == 1:
        return "in 1 day" if days > 0 else "1 day ago"
    if amount < 14:
        return f"in {amount} days" if days > 0 else f"{amount} days ago"
    weeks = round(amount / 7)
    return f"in {weeks} weeks" if days > 0 else f"{weeks} weeks ago"


def left_of_step(step: HasAmounts) -> str:
    """The guessed time of what is left of a step; a dash when it is done."""
    left = (step.quantity_tenths - step.done_tenths) * step.unit_ms / 10
    return hours(left) if left else "–"


def done_share(garment: HasWork) -> float:
    """The done fraction of a garment by hours."""
    return 1 - garment.left_ms / garment.planned_ms if garment.planned_ms else 1.0


def percent(fraction: float) -> str:
    """A share in whole percent; only the whole is 100.

    >>> percent(0.997), percent(1)
    ('99 %', '100 %')
    """
    return f"{min(99, round(fraction * 100)) if fraction < 1 else 100} %"


def kind(word: str) -> str:
    """A section's kind in words."""
    return KIND_WORDS.get(word, word)


def operation(word: str) -> str:
    """An operation in words."""
    return OPERATION_WORDS.get(word, word)


def thousandths(value: int) -> str:
    """An amount kept in thousandths.

    >>> thousandths(2500), thousandths(-12_000)
    ('2.5', '-12')
    """
    return tidy(value / 1000, 3)


FILTERS: dict[str, Callable[..., Any]] = {
    "figures_said": manner.figures_said,
    "typed_number": manner.typed,
    "tidy": tidy,
    "measure": measure,
    "cloth_length": cloth_length,
    "over_length": over_length,
    "count_number": count_number,
    "signed_percent": signed_percent,
    "mm": mm,
    "per": per,
    "depth": depth,
    "fine": fine,
    "more_or_less": more_or_less,
    "signed_mm": signed_mm,
    "tenths": tenths,
    "thousandths": thousandths,
    "at_home": at_home,
    "day_at_home": day_at_home,
    "hours": hours,
    "logged": logged,
    "day": day,
    "short_day": short_day,
    "percent": percent,
    "weeks_from": weeks_from,
    "left_of_step": left_of_step,
    "done_share": done_share,
    "kind": kind,
    "operation": operation,
}
