"""The studio's own settings."""

from dataclasses import dataclass, fields

from sqlmodel import select

from service.reckoning.lengths import CountUnit, unit_called
from service.records.db import Reading, Writing
from service.records.tables import Studio
from service.studio.standing import resummarise_open


@dataclass(frozen=True, slots=True)
class StudioFacts:
    """What the studio says of itself. Changing the currency changes no sum: only how sums are written."""

    name: str
    time_zone: str
    currency: str
    length_unit: str
    count_unit: str
    numbers: str
    language: str
    usual_minutes_a_day: int


def facts_of(studio: Studio) -> StudioFacts:
    """What the studio says of itself now."""
    return StudioFacts(*(getattr(studio, part.name) for part in fields(StudioFacts)))


def change_studio(db: Writing, facts: StudioFacts) -> None:
    """Change the settings; a new usual day moves the latest day to begin of every open garment."""
    studio = db.exec(select(Studio)).one()
    day_changed = studio.usual_minutes_a_day != facts.usual_minutes_a_day
    for part in fields(facts):
        setattr(studio, part.name, getattr(facts, part.name))
    db.add(studio)
    db.flush()
    if day_changed:
        resummarise_open(db)


def length_unit_of(db: Reading | Writing) -> CountUnit:
    """The unit in which the studio measures lengths."""
    return unit_called(db.exec(select(Studio.length_unit)).one())
