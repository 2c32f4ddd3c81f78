"""What was typed into a form: read field by field into values with units, faults kept as a sentence a field."""

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Annotated

from fastapi import Depends, Request

from service.reckoning.money import minor_digits

UM_PER = {"mm": 1_000, "cm": 10_000, "m": 1_000_000, "in": 25_400, "yd": 914_400}
LARGEST = Decimal(10) ** 9
_DECIMAL = re.compile(r"[+-]?\d{1,12}([.,]\d{1,6})?")


class Form:
    """Typed values by field, and what is wrong with them.

    Each reader gives the value in its unit, or a harmless stand-in after noting a fault: ask `wrong`
    before using any of them.
    """

    def __init__(
        self, values: Mapping[str, str] | None = None, lists: Mapping[str, Sequence[str]] | None = None
    ) -> None:
        self.values = dict(values or {})
        self.lists = {name: list(items) for name, items in (lists or {}).items()}
        self.errors: dict[str, str] = {}

    @property
    def wrong(self) -> bool:
        """Whether anything typed cannot be taken."""
        return bool(self.errors)

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
        typed = self.raw(field).replace(" ", "").replace("\u00a0", "")
        if not typed:
            if needed:
                self.fault(field, f"Enter {called}.")
            return None
        value = _number(typed)
        if value is None:
            self.fault(field, f"Enter {called} as a number, like 12 or 12.5.")
            return None
        if value < Decimal(str(least)) or (above and value == Decimal(str(least))):
            self.fault(field, f"{_upper(called)} must be {'above' if above else 'at least'} {least:g}.")
            return None
        if value > Decimal(str(most)):
            self.fault(field, f"{_upper(called)} must be at most {most:,.15g}.")
            return None
        return value

    def whole(
        self, field: str, *, called: str, least: int = 0, most: int = 1_000_000, needed: bool = True
    ) -> int | None:
        """A whole number from `least` to `most`."""
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
        """A length typed in `unit` (mm, cm, m, in, yd), as whole micrometres."""
        value = self.decimal(field, called=called, most=most, needed=needed, above=above)
        return None if value is None else int((value * UM_PER[unit]).to_integral_value())

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
    if not _DECIMAL.fullmatch(typed):
        return None
    try:
        value = Decimal(typed.replace(",", "."))
    except InvalidOperation:
        return None
    return value if math.isfinite(value) and abs(value) <= LARGEST else None


def _upper(called: str) -> str:
    bare = re.sub(r"^(a|an|the) ", "", called)
    return bare[:1].upper() + bare[1:]


async def read_form(request: Request) -> Form:
    """The form as sent, text fields only."""
    sent = await request.form(max_fields=2000, max_files=0)
    texts = [(name, value) for name, value in sent.multi_items() if isinstance(value, str)]
    lists: dict[str, list[str]] = {}
    for name, value in texts:
        lists.setdefault(name, []).append(value)
    request.state.typed = texts  # so that it can be sent again when the disk is full
    return Form(dict(texts), lists)


Typed = Annotated[Form, Depends(read_form)]
