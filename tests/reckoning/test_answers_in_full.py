"""Answers of the whole reckoning as kept in answers_in_full.txt, and what one thing changed changes in changes_in_full.txt.

They are our own results: kept so that no figure and no word moves unseen. What is meant to change is read through line by
line and kept anew with `python -m tests.reckoning.test_answers_in_full`.
"""

from functools import cache
from pathlib import Path

import pytest

from tests.reckoning.all_questions import ALL, TO_CHANGE
from tests.reckoning.in_full import in_full, with_one_thing_changed

ANSWERS = Path(__file__).with_name("answers_in_full.txt")
CHANGES = Path(__file__).with_name("changes_in_full.txt")


def written(group: str) -> str:
    return "\n\n".join("\n".join(in_full(*each)) for each in ALL[group].items())


def changes() -> str:
    return "\n\n".join("\n".join(with_one_thing_changed(*each)) for each in TO_CHANGE.items())


@cache
def kept() -> list[str]:
    return ANSWERS.read_text(encoding="utf-8").split("\n\n\n")


@pytest.mark.parametrize("group", ALL)
def test_answers_are_in_every_figure_and_word_what_they_were(group: str) -> None:
    assert written(group) == kept()[list(ALL).index(group)].strip()


def test_one_thing_changed_changes_what_it_did() -> None:
    assert changes() == CHANGES.read_text(encoding="utf-8").strip()


if __name__ == "__main__":
    ANSWERS.write_text("\n\n\n".join(map(written, ALL)) + "\n", encoding="utf-8")
    CHANGES.write_text(changes() + "\n", encoding="utf-8")
