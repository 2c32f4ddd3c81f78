"""How the studio writes numbers and days: the marks of decimals and thousands, the order and names of days.

The manner is kept beside the request while it is answered. Under the hood every figure is exact and knows no manner;
what is typed is read in the same manner as it is written.
"""

import re
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from functools import cache, lru_cache

from babel import Locale
from babel.dates import format_date, format_skeleton, format_time

from service.languages.spoken import DECIMALS, KEY, POINT, write_decimals

USUAL = "en_GB"
OFFERED = (
    *("en_GB", "en_US", "en_IE", "en_AU", "da_DK", "de_DE", "de_AT", "de_CH", "es_ES", "fi_FI", "fr_FR", "fr_CH"),
    *("it_IT", "nb_NO", "nl_NL", "pl_PL", "pt_PT", "pt_BR", "sv_SE", "cs_CZ", "hu_HU"),
)
BLANKS = (" ", "\u00a0", "\u202f", "\u2009")
PLAIN = re.compile(r"[+-]?\d{1,12}([.,]\d{1,6})?")
EXAMPLE = (1234.5, date(2027, 5, 16))


@dataclass(slots=True)
class Manner:
    """The manner of the studio whose page is answered."""

    locale: str = USUAL


_here: ContextVar[Manner] = ContextVar("manner")


def begin() -> None:
    """Begin to answer: in the usual manner until the studio is known."""
    _here.set(Manner())
    write_decimals(POINT)


def write_as(locale: str) -> None:
    """From here on write in that manner; one that is not offered is written in the usual one."""
    known = locale if locale in OFFERED else USUAL
    kept = _here.get(None)
    if kept is None:
        _here.set(Manner(known))
    else:
        kept.locale = known
    write_decimals(marks(known)[0])


def locale_now() -> str:
    """The manner in which to write now."""
    kept = _here.get(None)
    return kept.locale if kept else USUAL


@cache
def marks(locale: str) -> tuple[str, str]:
    """The marks of decimals and of thousands.

    >>> marks("de_DE"), marks("en_GB")
    ((',', '.'), ('.', ','))
    """
    symbols = Locale.parse(locale).number_symbols["latn"]
    return str(symbols["decimal"]), str(symbols["group"])


def said(number: str) -> str:
    """A number that is written as "1,234.5", in the manner of the studio."""
    decimal, group = marks(locale_now())
    return number if (decimal, group) == (".", ",") else number.translate({44: group, 46: decimal})


def figures_said(sentence: str) -> str:
    """A sentence whose decimals are written with a point, in the manner of the studio.

    >>> figures_said("It is 2.5 mm, by 16 CFR 1610 and at 10.30.1.")
    'It is 2.5 mm, by 16 CFR 1610 and at 10.30.1.'
    """
    decimal, _ = marks(locale_now())
    return sentence if decimal == "." else DECIMALS.sub(rf"\1{decimal}\2", sentence)


def typed(value: float | Decimal | str) -> str:
    """A plain number as it is typed into a field: no thousands, the decimal mark of the studio; else the same text."""
    written = f"{value:.6f}".rstrip("0").rstrip(".") if isinstance(value, float) else str(value)
    return said(written) if PLAIN.fullmatch(written) and "," not in written else written


def read(text: str) -> str:
    """A number as typed, as plain digits with a point; text that is no number stays as it is.

    A thousands mark counts as one only where it parts whole threes; else either mark is that of the decimals.
    """
    decimal, group = marks(locale_now())
    bare = text.translate(dict.fromkeys(map(ord, BLANKS)))
    groups = "['’]" if group in "'’" else re.escape(group)
    if group not in BLANKS and re.fullmatch(
        rf"[+-]?[1-9]\d{{0,2}}({groups}\d{{3}})+({re.escape(decimal)}\d{{1,6}})?", bare
    ):
        bare = re.sub(groups, "", bare)
    return bare.replace(",", ".")


@lru_cache(maxsize=4096)
def _day(value: date, form: str, locale: str) -> str:
    if locale == USUAL:
        return {"long": f"{value.day} {value:%B %Y}", "short": f"{value.day} {value:%b %y}"}[form]
    return format_date(value, {"long": "long", "short": "medium"}[form], locale)


def day_said(value: date, form: str = "long") -> str:
    """A day, "long" with its month in full or "short" for a ledger column."""
    return _day(date(value.year, value.month, value.day), form, locale_now())


def few_letters(value: date, *, with_year: bool) -> str:
    """A day in as few letters as its month can be told by, for a drawing."""
    return str(format_skeleton("yMMMd" if with_year else "MMMd", value, locale=locale_now()))


def clock_said(local: datetime) -> str:
    """The time of day where the studio is."""
    return str(format_time(local, "short", locale=locale_now()))


def month_said(value: date, *, with_year: bool = True) -> str:
    """A month by one of its days."""
    return format_date(value, "LLLL y" if with_year else "LLLL", locale_now())


def sum_said(amount: Decimal, symbol: str) -> str:
    """A sum above nothing with the symbol of its currency where the manner has it, every decimal as it is given."""
    locale = locale_now()
    written = said(f"{amount:,f}")
    if str(Locale.parse(locale).currency_formats["standard"].pattern).split(";")[0].endswith("¤"):
        return f"{written}\u00a0{symbol}"
    gap = "\u00a0" if symbol[-1].isalpha() else ""
    return f"{symbol}{gap}{written}"


def usual_in(language: str) -> str:
    """The manner that is usual where that language is spoken.

    >>> usual_in("de"), usual_in("en")
    ('de_DE', 'en_GB')
    """
    return next(locale for locale in OFFERED if locale.startswith(f"{language}_"))


@cache
def offered(language: str = KEY) -> tuple[tuple[str, str], ...]:
    """The manners to choose from, those of the language first, each with a number and a day written in it."""
    number, day = EXAMPLE
    found = []
    for locale in sorted(OFFERED, key=lambda locale: not locale.startswith(f"{language}_")):
        decimal, group = marks(locale)
        figures = f"{number:,.1f}".translate({44: group, 46: decimal})
        found.append((locale, f"{Locale.parse(locale).get_display_name()}: {figures}, {_day(day, 'long', locale)}"))
    return tuple(found)
