"""What forms offer to choose from, whatever the studio: currencies in use, time zones."""

from functools import cache
from zoneinfo import available_timezones

from babel.core import get_global
from babel.numbers import get_currency_name, get_territory_currencies

from service.languages.spoken import KEY, language_now


def currencies() -> tuple[tuple[str, str], ...]:
    """Codes of the currencies that are money somewhere today, with their names, by code.

    >>> [pair for pair in currencies() if pair[0] in {"GBP", "DDM", "XXX"}]
    [('GBP', 'GBP – British Pound')]
    """
    return _currencies("en_GB" if language_now() == KEY else language_now())


@cache
def _currencies(locale: str) -> tuple[tuple[str, str], ...]:
    territories = get_global("territory_currencies")
    in_use = {code for territory in territories for code in get_territory_currencies(territory, tender=True)}
    return tuple((code, f"{code} – {get_currency_name(code, locale=locale)}") for code in sorted(in_use))


@cache
def time_zones() -> tuple[tuple[str, str], ...]:
    """Time zones by name, such as Europe/London."""
    named = (zone for zone in available_timezones() if "/" in zone and not zone.startswith("Etc/"))
    return tuple((zone, zone.replace("_", " ")) for zone in sorted((*named, "UTC")))


def codes(options: tuple[tuple[str, str], ...]) -> frozenset[str]:
    """The values among which one must be chosen."""
    return frozenset(value for value, _ in options)
