"""Which language is spoken while a request is answered.

It is kept beside the request in something that can be changed, so that a thread that finds it out tells the others.
"""

from contextvars import ContextVar

KEY = "en"
LANGUAGES = {"en": "English", "de": "Deutsch"}
"""Every language by its code, named in itself. The first is the one that the sources are written in."""
MARKED = {"en": "en-GB"}
"""How a page is marked where that is more than the code."""


class Typed(str):
    """Text that somebody typed, where it stands alone beside text of ours: it is never translated."""

    __slots__ = ()


_here: ContextVar[list[str]] = ContextVar("language")


def begin() -> None:
    """Begin to answer: in English until the studio is known."""
    _here.set([KEY])


def speak(language: str) -> None:
    """From here on speak that language; one that is not known is answered in English."""
    known = language if language in LANGUAGES else KEY
    kept = _here.get(None)
    if kept is None:
        _here.set([known])
    else:
        kept[0] = known


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
    return kept[0] if kept else KEY


def said(sentence: str) -> str:
    """A sentence of the program in the language that is spoken now; one that is in no catalogue stays as it is."""
    language = language_now()
    if language == KEY:
        return sentence
    from service.languages.saying import said_in

    return said_in(language, sentence)


def mark_of(language: str) -> str:
    """What a page in that language is marked as.

    >>> mark_of("en"), mark_of("de")
    ('en-GB', 'de')
    """
    return MARKED.get(language, language)
