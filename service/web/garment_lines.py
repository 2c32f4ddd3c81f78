"""Lines of a garment's page, each written once for as long as it says the same in the studio's manner of writing."""

from collections.abc import Iterable
from functools import lru_cache
from typing import NamedTuple

from markupsafe import Markup

from service.languages.spoken import Units, language_now, units_now
from service.records.queries.log import Change, Entry
from service.records.tables import Step
from service.web import manner
from service.web.history_words import counted_again
from service.web.render import render

Written = tuple[str, str, Units]


class StepFacts(NamedTuple):
    """What the order of a part's steps says of one step."""

    id: int | None
    operation: str
    unit: str
    quantity_tenths: int
    done_tenths: int
    unit_ms: int


class Home(NamedTuple):
    """What a line needs to know of the studio."""

    time_zone: str


def steps_in_order(steps: Iterable[Step]) -> Markup:
    """The steps of one part of a garment, how far each is and what is left of it."""
    facts = (StepFacts(*(getattr(step, name) for name in StepFacts._fields)) for step in steps)
    return _steps(tuple(facts), written_as())


def log_line(entry: Entry | Change, time_zone: str) -> Markup:
    """One line of a garment's log."""
    return _log_line(entry, Home(time_zone), written_as())


def written_as() -> Written:
    """How everything is written just now: language, manner and units."""
    return language_now(), manner.locale_now(), units_now()


@lru_cache(maxsize=256)
def _steps(steps: tuple[StepFacts, ...], _written: Written) -> Markup:
    return Markup(render("garments/steps_in_order.html", {"steps": steps}))  # noqa: S704 (a template of our own)


@lru_cache(maxsize=1000)
def _log_line(entry: Entry | Change, studio: Home, _written: Written) -> Markup:
    said = {"entry": entry, "studio": studio, "counted_again": counted_again}
    return Markup(render("garments/log_line.html", said))  # noqa: S704 (a template of our own, all escaped)
