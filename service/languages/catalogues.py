"""The catalogues: one folder a language, one PO file an area, read when the language is first spoken."""

from functools import cache
from pathlib import Path

from babel.messages.catalog import Catalog, Message
from babel.messages.pofile import read_po

from service.languages.spoken import KEY, LANGUAGES

FOLDER = Path(__file__).resolve().parent
SENTENCES = "sentences-"
"""Areas whose messages are made by the program while it runs; those of the others stand in templates and scripts."""
AS_PRINTED = "reckoning/cautions.py"
"""Whose sentences quote a printed rule with its figures, in the unit that it is printed in."""


def files_of(language: str) -> list[Path]:
    """The files of a language, those of sentences first."""
    return sorted((FOLDER / language).glob("*.po"), key=lambda path: (not path.stem.startswith(SENTENCES), path.stem))


def read(path: Path, language: str) -> Catalog:
    """One file."""
    with path.open("rb") as file:
        return read_po(file, locale=language, charset="utf-8")


@cache
def messages_of(language: str) -> dict[str, str]:
    """Every translated message; one for a single template or module stands under that name, a bar and the English."""
    return _translated(language, files_of(language))


@cache
def sentences_of(language: str) -> dict[str, str]:
    """The translated messages that the program makes while it runs."""
    return _translated(language, [path for path in files_of(language) if path.stem.startswith(SENTENCES)])


@cache
def every_sentence() -> dict[str, str]:
    """The messages that the program makes while it runs, each by itself: a catalogue of the sources' own English."""
    return {str(message.id): str(message.id) for message in _english() if message.id}


@cache
def sentences_as_printed() -> frozenset[str]:
    """Those whose figures are quoted, so that they keep their unit."""
    return frozenset(
        str(message.id) for message in _english() if any(place == AS_PRINTED for place, _ in message.locations)
    )


def _english() -> list[Message]:
    """The messages of sentences as every catalogue holds them, translated or not."""
    other = next(language for language in LANGUAGES if language != KEY)
    paths = [path for path in files_of(other) if path.stem.startswith(SENTENCES)]
    return [message for path in paths for message in read(path, other)]


def _translated(language: str, paths: list[Path]) -> dict[str, str]:
    if language == KEY:
        return {}
    found: dict[str, str] = {}
    for path in paths:
        for message in read(path, language):
            if message.id and message.string and isinstance(message.id, str) and isinstance(message.string, str):
                found.setdefault(f"{message.context}|{message.id}" if message.context else message.id, message.string)
    return found


def kept_anew() -> None:
    """Forget what was read, for whoever has changed a file."""
    messages_of.cache_clear()
    sentences_of.cache_clear()
