"""What was typed into a form: read field by field into values with units, faults kept as a sentence a field."""

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Annotated

from fastapi import Depends, Request

from service.languages.spoken import said
from service.reckoning.money import minor_digits
from service.web import manner

UM_PER = {"mm": 1_000, "cm": 10_000, "m": 1_000_000, "in": 25_400, "yd": 914_400}
_DECIMAL = re.compile(r"[+-]?\d{1,40}(\.\d{1,6})?")
_FRACTIONS = {"⅛": "1/8", "¼": "1/4", "⅜": "3/8", "½": "1/2", "⅝": "5/8", "¾": "3/4", "⅞": "7/8"}
_FRACTION = re.compile(r"(?:(\d{1,6}) )?(\d{1,3})/(\d{1,3})")
_CLOCK = re.compile(r"(\d{1,2}):([0-5]\d)")
_WITH_UNIT = re.compile(r"(.*[\d⅛¼⅜½⅝¾⅞]) ?(mm|cm|m|in|yd|\"|″)", re.IGNORECASE)


class Form:
    """Typed values by field, and what is wrong with them.

    Each reader gives the value in its unit, or a harmless stand-in after noting a fault: ask `wrong`
    before using any of them. Fields that were typed (`is_typed`) go back as they are; others in the studio's manner.
    """

    def __init__(
        self, values: Mapping[str, str] | None = None, lists: Mapping[str, Sequence[str]] | None = None
    ) -> None:
        self.values = dict(values or {})
        self.lists = {name: list(items) for name, items in (lists or {}).items()}
        self.errors: dict[str, str] = {}
        self.is_typed = False

    @property
    def wrong(self) -> bool:
        """Whether anything typed cannot be taken."""
        return bool(self.errors)

    @property
    def faults(self) -> list[tuple[str, str]]:
        """What is wrong, field and sentence, in the order in which the fields stand on the page."""
        order = {name: at for at, name in enumerate(self.values)}
        return sorted(self.errors.items(), key=lambda fault: order.get(fault[0], len(order)))

    def fault(self, field: str, sentence: str) -> None:
        """Note the first fault of a field."""
        self.errors.setdefault(field, sentence)

    def raw(self, field: str) -> str:
        """What was typed, without blanks around it."""
        return self.values.get(field, "").strip()

    def text(self, field: str, *, called: str, most: int = 200, needed: bool = True) -> str:
        """One line or paragraph of text."""
        typed = self.raw(field).replace("\x00", "")
        if needed and not typed:
            self.fault(field, f"Enter {called}.")
        if len(typed) > most:
            self.fault(field, f"Keep {called} to {most} characters; this is {len(typed)}.")
        return typed

    def email(self, field: str, *, called: str = "an e-mail address", needed: bool = True) -> str:
        """An e-mail address, in lower case."""
        typed = self.text(field, called=called, most=254, needed=needed).lower()
        if typed and not re.fullmatch(r"[^@\s<>\"',;]+@[^@\s<>\"',;]+\.[^@\s<>\"',;]+", typed):
            self.fault(field, "Enter an e-mail address like name@example.org.")
        return typed

    def decimal(
        self,
        field: str,
        *,
        called: str,
        least: float = 0,
        most: float = 1e9,
        needed: bool = True,
        above: bool = False,
    ) -> Decimal | None:
        """A number from `least` (or above it) to `most`; None when nothing was typed and nothing is needed."""
        typed = self.raw(field)
        if not typed:
            if needed:
                self.fault(field, f"Enter {called}.")
            return None
        value = _number(typed)
        if value is None:
            self.fault(field, f"Enter {called} as a number, like 12 or {manner.said('12.5')}.")
            return None
        return value if self._is_within(field, value, called=called, least=least, most=most, above=above) else None

    def _is_within(self, field: str, value: Decimal, *, called: str, least: float, most: float, above: bool) -> bool:
        if value < Decimal(str(least)) or (above and value == Decimal(str(least))):
            self.fault(
                field, f"{_upper(called)} must be {'above' if above else 'at least'} {manner.said(f'{least:g}')}."
            )
        elif value > Decimal(str(most)):
            self.fault(field, f"{_upper(called)} must be at most {manner.said(f'{most:,.15g}')}.")
        else:
            return True
        return False

    def whole(
        self, field: str, *, called: str, least: int = 0, most: int = 1_000_000, needed: bool = True
    ) -> int | None:
        """A whole number from `least` to `most`."""
        if (typed := self.raw(field)) and _number(typed) is None:
            self.fault(field, f"Enter {called} as a number, like 12.")
        value = self.decimal(field, called=called, least=least, most=most, needed=needed)
        if value is not None and value != value.to_integral_value():
            self.fault(field, f"{_upper(called)} must be a whole number.")
            return None
        return None if value is None else int(value)

    def length_um(
        self,
        field: str,
        unit: str,
        *,
        called: str,
        most: float = 100_000,
        needed: bool = True,
        above: bool = True,
    ) -> int | None:
        """A length typed in `unit` (mm, cm, m, in, yd) or with a unit of its own, as whole micrometres.

        Whole, decimal or as a fraction: 44 1/2, 3⅛, 12 cm. The limits are of the number in `unit`.
        """
        written, given = _with_unit(self.raw(field), unit)
        value = _fraction(written)
        if value is None and written == self.raw(field):
            number = self.decimal(field, called=called, most=most, needed=needed, above=above)
            return None if number is None else int((number * UM_PER[unit]).to_integral_value())
        plain = _number(written) if value is None else value
        if plain is None:
            self.fault(field, f"Enter {called} as a number, like 12 or {manner.said('12.5')}.")
            return None
        um = round(Fraction(plain) * UM_PER[given])
        in_unit = Decimal(um) / UM_PER[unit]
        return um if self._is_within(field, in_unit, called=called, least=0, most=most, above=above) else None

    def money_minor(
        self, field: str, currency: str, *, called: str, needed: bool = False, least: float = 0
    ) -> int | None:
        """A sum in whole minor units of the currency."""
        value = self.decimal(field, called=called, least=least, most=1e9, needed=needed)
        if value is None:
            return None
        minor = value.scaleb(minor_digits(currency))
        if minor != minor.to_integral_value():
            self.fault(field, f"{_upper(called)} has more decimals than {currency} allows.")
        return int(minor)

    def minutes_of_day(self, field: str, *, called: str, needed: bool = True) -> int:
        """Hours of one day as whole minutes: 3.5, 3:30, 3 1/2 or 3½; none where nothing was typed."""
        typed = self.raw(field)
        clock, hours = _CLOCK.fullmatch(typed), _fraction(typed)
        if clock is not None:
            hours = int(clock[1]) + Fraction(int(clock[2]), 60)
        if hours is None:
            number = self.decimal(field, called=called, most=24, needed=needed)
            return 0 if number is None else round(number * 60)
        exact = Decimal(hours.numerator) / hours.denominator
        return round(hours * 60) if self._is_within(field, exact, called=called, least=0, most=24, above=False) else 0

    def day(self, field: str, *, called: str, needed: bool = True) -> date | None:
        """A day, written as year-month-day."""
        typed = self.raw(field)
        if not typed:
            if needed:
                self.fault(field, f"Enter {called}.")
            return None
        try:
            day = date.fromisoformat(typed)
        except ValueError:
            self.fault(field, f"Enter {called} as year-month-day, like 2027-05-16.")
            return None
        if not 1900 <= day.year <= 2200:
            self.fault(field, f"{_upper(called)} must lie between the years 1900 and 2200.")
            return None
        return day

    def choice(self, field: str, among: Iterable[str], *, called: str, needed: bool = True) -> str:
        """One of the words offered; empty when nothing was chosen and nothing is needed."""
        typed = self.raw(field)
        if not typed and not needed:
            return ""
        if typed not in set(among):
            self.fault(field, f"Choose {called}.")
            return ""
        return typed

    def number_of(self, field: str, *, called: str, needed: bool = True) -> int | None:
        """The id of a record chosen from a list."""
        return self.whole(field, called=called, least=1, most=2_147_483_647, needed=needed)

    def ticked(self, field: str) -> bool:
        """Whether a box was ticked."""
        return self.raw(field) not in {"", "0", "false", "no"}


def _number(typed: str) -> Decimal | None:
    """A number as it is written in the studio's manner, exact.

    >>> _number("12.5"), _number("12,5"), _number("1,234.5"), _number("twelve")
    (Decimal('12.5'), Decimal('12.5'), Decimal('1234.5'), None)
    """
    plain = manner.read(typed)
    if not _DECIMAL.fullmatch(plain):
        return None
    return Decimal(plain)


def _with_unit(typed: str, unit: str) -> tuple[str, str]:
    """What was typed without its unit, and that unit; `unit` where none was typed.

    >>> _with_unit("44 in", "cm"), _with_unit('12 1/2"', "in"), _with_unit("3⅛", "yd")
    (('44', 'in'), ('12 1/2', 'in'), ('3⅛', 'yd'))
    """
    found = _WITH_UNIT.fullmatch(typed)
    if found is None:
        return typed, unit
    given = found[2].lower()
    return found[1], given if given in UM_PER else "in"


def _fraction(typed: str) -> Fraction | None:
    """A number with a vulgar fraction, exact; nothing when there is none.

    >>> _fraction("44 1/2"), _fraction("3⅛"), _fraction("1/8"), _fraction("12.5"), _fraction("1/0")
    (Fraction(89, 2), Fraction(25, 8), Fraction(1, 8), None, None)
    """
    for sign, written in _FRACTIONS.items():
        typed = typed.replace(sign, f" {written}")
    found = _FRACTION.fullmatch(" ".join(typed.split()))
    if found is None or int(found[3]) == 0:
        return None
    return int(found[1] or 0) + Fraction(int(found[2]), int(found[3]))


def _upper(called: str) -> str:
    bare = re.sub(r"^(a|an|the) ", "", said(called))
    return bare[:1].upper() + bare[1:]


LOOK_OVER = "look-over"
"""Sent beside what was typed before a sign-in ended: the form is wanted back as it was typed, and nothing is kept."""
STILL_HERE = "You had been signed out. What you typed stands here again, and nothing of it is kept yet: look it over."


async def read_form(request: Request) -> Form:
    """The form as sent, text fields only."""
    sent = await request.form(max_fields=2000, max_files=0)
    texts = [(name, value) for name, value in sent.multi_items() if isinstance(value, str) and name != LOOK_OVER]
    lists: dict[str, list[str]] = {}
    for name, value in texts:
        lists.setdefault(name, []).append(value)
    request.state.typed = texts  # so that it can be sent again when the disk is full
    form = Form(dict(texts), lists)
    form.is_typed = True
    if LOOK_OVER in sent:
        request.state.is_looked_over = True
        form.fault("", STILL_HERE)
    return form


Typed = Annotated[Form, Depends(read_form)]
