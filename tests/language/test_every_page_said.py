"""Every page and paper of the demo in every language: nothing of ours stays English, whole or by half, and
nothing that was typed is changed.
"""

import shutil
from pathlib import Path

import pytest

from service.languages.spoken import KEY, LANGUAGES
from service.records.db import open_database
from tests.filled import demo_in
from tests.language.walk import compared


@pytest.mark.parametrize("language", [language for language in LANGUAGES if language != KEY])
def test_nothing_of_ours_stays_english_and_what_was_typed_stays(
    language: str, tmp_path: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    made = demo_in(tmp_path_factory.getbasetemp())
    shutil.copytree(made.parent, tmp_path / "demo")
    database = open_database(f"sqlite:///{tmp_path / 'demo' / made.name}")
    found = compared(database, language)
    database.close()
    assert len(found.addresses) > 120
    assert found.unlike_status == []
    assert found.unmarked == []
    assert found.untranslated == []
    assert found.by_half == []
    assert found.altered == []
