"""Answers of the whole reckoning as kept in answers_in_full.txt, and what one thing changed changes in changes_in_full.txt.

They are our own results: kept so that no figure and no word moves unseen. What is meant to change is read through line by
line and kept anew with `python -m tests.reckoning.test_answers_in_full`.
"""

from functools import cache
from pathlib import Path

import pytest

from tests.reckoning.all_questions import ALL, CHANGED, TO_CHANGE
from tests.reckoning.in_full import in_full, with_one_thing_changed

ANSWERS = Path(__file__).with_name("answers_in_full.txt")
CHANGES = Path(__file__).with_name("changes_in_full.txt")


def written(group: str) -> str:
    return "\n\n".join("\n".join(in_full(*each)) for each in ALL[group].items())


def changes(group: str) -> str:
    asked = TO_CHANGE[group].items()
    return "\n\n".join("\n".join(with_one_thing_changed(*each, every=CHANGED[group])) for each in asked)


@cache
def kept(file: Path) -> list[str]:
    return file.read_text(encoding="utf-8").split("\n\n\n")


@pytest.mark.parametrize("group", ALL)
def test_answers_are_in_every_figure_and_word_what_they_were(group: str) -> None:
    assert written(group) == kept(ANSWERS)[list(ALL).index(group)].strip()


@pytest.mark.parametrize("group", CHANGED)
def test_one_thing_changed_changes_what_it_did(group: str) -> None:
    assert changes(group) == kept(CHANGES)[list(CHANGED).index(group)].strip()


if __name__ == "__main__":
    ANSWERS.write_text("\n\n\n".join(map(written, ALL)) + "\n", encoding="utf-8")
    CHANGES.write_text("\n\n\n".join(map(changes, CHANGED)) + "\n", encoding="utf-8")
