"""The sentences of scripts in another language."""

from pathlib import Path

import pytest

from service.languages.scripts import messages_in, script_said

STATIC = Path(__file__).resolve().parents[2] / "service" / "static"
GERMAN = {
    "Take it back": "Zurück`nehmen",
    "{done} of {whole} done": "von {whole} sind {done} fertig",
    "nothing left": "nichts übrig",
}


@pytest.mark.parametrize(
    ("script", "german"),
    [
        ('say("Take it back");', "say(`Zurück\\`nehmen`);"),
        ("say(`${done} of ${all.whole} done`)", "say(`von ${all.whole} sind ${done} fertig`)"),
        ('say(`(${left ? left : "nothing left"})`)', "say(`(${left ? left : `nichts übrig`})`)"),
        ('// Take it back\nconst a = "readwrite", b = /["`]/;', '// Take it back\nconst a = "readwrite", b = /["`]/;'),
    ],
)
def test_a_literal_for_people_is_put_in_the_other_language(script: str, german: str) -> None:
    assert script_said(script, GERMAN.get) == german


@pytest.mark.parametrize("path", sorted(STATIC.glob("*.js")), ids=lambda path: path.name)
def test_a_script_of_which_nothing_is_translated_stays_as_it_is(path: Path) -> None:
    script = path.read_text(encoding="utf-8")
    assert script_said(script, dict[str, str]().get) == script


def test_a_sentence_with_values_is_one_message() -> None:
    assert list(messages_in("say(`${amount(counted)} counted after ${asked.minutes} minutes.`)")) == [
        "{counted} counted after {minutes} minutes."
    ]
