"""Every page and paper of the demo in every language: nothing of ours stays English, whole or by half, and
nothing that was typed is changed.
"""

from pathlib import Path

import pytest

from service.languages.spoken import KEY, LANGUAGES
from tests.filled import demo_copied
from tests.language.walk import compared


@pytest.mark.parametrize("language", [language for language in LANGUAGES if language != KEY])
def test_nothing_of_ours_stays_english_and_what_was_typed_stays(
    language: str, tmp_path: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    with demo_copied(tmp_path_factory.getbasetemp(), tmp_path) as database:
        found = compared(database, language)
    assert len(found.addresses) > 120
    assert found.unlike_status == []
    assert found.unmarked == []
    assert found.untranslated == []
    assert found.by_half == []
    assert found.altered == []
