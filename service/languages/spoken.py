"""Which language is spoken while a request is answered, and in which units lengths and counts are said.

It is kept beside the request in something that can be changed, so that a thread that finds it out tells the others.
"""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from typing import NamedTuple

KEY = "en"
LANGUAGES = {"en": "English", "de": "Deutsch"}
"""Every language by its code, named in itself. The first is the one that the sources are written in."""
MARKED = {"en": "en-GB"}
"""How a page is marked where that is more than the code."""


class Typed(str):
    """Text that somebody typed, where it stands alone beside text of ours: it is never translated."""

    __slots__ = ()


class Units(NamedTuple):
    """The units of lengths and of counts of cloth: cm or in, each by itself."""

    length: str = "cm"
    counts: str = "cm"


IN_CM = Units()
POINT = "."
DECIMALS = re.compile(r"(?<![\w.,:/-])(\d+)\.(\d+)(?![\w/-]|[.:]\d)")


@dataclass(slots=True)
class Speech:
    """How the page being answered speaks."""

    language: str = KEY
    units: Units = IN_CM
    decimal: str = POINT


_here: ContextVar[Speech] = ContextVar("speech")


def begin() -> None:
    """Begin to answer: in English and in centimetres until the studio is known."""
    _here.set(Speech())


def speak(language: str) -> None:
    """From here on speak that language; one that is not known is answered in English."""
    _kept().language = language if language in LANGUAGES else KEY


def measure_in(length: str, counts: str = "cm") -> None:
    """From here on say lengths and counts of cloth in those units: cm or in."""
    _kept().units = Units(length, counts)


def write_decimals(mark: str) -> None:
    """From here on write decimals with that mark."""
    _kept().decimal = mark


def decimals_said(sentence: str) -> str:
    """A sentence whose decimals are written with a point, with the mark of now.

    >>> decimals_said("It is 2.5 mm, by 16 CFR 1610 and at 10.30.1.")
    'It is 2.5 mm, by 16 CFR 1610 and at 10.30.1.'
    """
    kept = _here.get(None)
    return sentence if kept is None or kept.decimal == POINT else DECIMALS.sub(rf"\1{kept.decimal}\2", sentence)


def _kept() -> Speech:
    kept = _here.get(None)
    if kept is None:
        kept = Speech()
        _here.set(kept)
    return kept


@contextmanager
def in_the_key() -> Iterator[None]:
    """For a while speak the language of the sources, as rows of files do."""
    kept = _kept()
    before, kept.language = kept.language, KEY
    try:
        yield
    finally:
        kept.language = before


def asked_in(accepted: str) -> str:
    """The language that a browser asks for first of those there are, for as long as there is no studio to say.

    >>> asked_in("de-AT,de;q=0.9,en;q=0.7"), asked_in("fr, en-GB"), asked_in("")
    ('de', 'en', 'en')
    """
    wanted = [each.partition(";")[0].strip().partition("-")[0].lower() for each in accepted.split(",")]
    return next((language for language in wanted if language in LANGUAGES), KEY)


def language_now() -> str:
    """The language to speak now."""
    kept = _here.get(None)
    return kept.language if kept else KEY


def units_now() -> Units:
    """The units in which to say lengths and counts now."""
    kept = _here.get(None)
    return kept.units if kept else IN_CM


def unit_now() -> str:
    """The unit in which to say lengths now: cm or in."""
    return units_now().length


def as_written() -> bool:
    """Whether sentences are said as the sources have them: in English, in mm and cm."""
    kept = _here.get(None)
    return kept is None or (kept.language == KEY and kept.units == IN_CM)


def as_drawn() -> bool:
    """Whether drawings are said as the sources have them: as written, and with a point before decimals."""
    kept = _here.get(None)
    return as_written() and (kept is None or kept.decimal == POINT)


def said(sentence: str) -> str:
    """A sentence of the program in the language and the unit of now; one that is in no catalogue stays as it is."""
    if as_written():
        return sentence
    from service.languages.saying import said_in

    return said_in(language_now(), units_now(), sentence)


def mark_of(language: str) -> str:
    """What a page in that language is marked as.

    >>> mark_of("en"), mark_of("de")
    ('en-GB', 'de')
    """
    return MARKED.get(language, language)
