"""The catalogues are complete: every message of the sources is in them, translated, with its places and signs."""

import pytest

from service.languages.spoken import KEY, LANGUAGES
from service.records.tables.studio import SPOKEN
from tests.language.renew import faults, renewed

OTHERS = [language for language in LANGUAGES if language != KEY]


def test_a_studio_may_speak_every_language_there_is() -> None:
    assert tuple(LANGUAGES) == SPOKEN


@pytest.mark.parametrize("language", OTHERS)
def test_every_catalogue_holds_what_the_sources_say_now(language: str) -> None:
    behind = [path.name for path, text in renewed(language).items() if path.read_text(encoding="utf-8") != text]
    assert behind == [], "python -m tests.language.renew brings them up to date"


@pytest.mark.parametrize("language", OTHERS)
def test_every_message_is_translated_with_its_places_and_signs(language: str) -> None:
    assert list(faults(language)) == []
