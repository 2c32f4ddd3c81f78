"""Answers of the whole reckoning as kept in answers_in_full.txt, and what one thing changed changes in changes_in_full.txt.

They are our own results: kept so that no figure and no word moves unseen. What is meant to change is read through line by
line and kept anew with `python -m tests.reckoning.test_answers_in_full`.
"""

import re
from collections.abc import Callable, Iterable
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
def kept(file: Path) -> dict[str, str]:
    """What is kept, by the heads of its groups; an answer may hold empty lines."""
    _, *parts = re.split(r"^== (.+) ==$", file.read_text(encoding="utf-8"), flags=re.MULTILINE)
    return {group: text.strip() for group, text in zip(parts[::2], parts[1::2], strict=True)}


def keep(file: Path, groups: Iterable[str], write: Callable[[str], str]) -> None:
    file.write_text(
        "\n\n".join(f"== {group} ==\n\n{write(group).strip()}" for group in groups) + "\n", encoding="utf-8"
    )


@pytest.mark.parametrize("group", ALL)
def test_answers_are_in_every_figure_and_word_what_they_were(group: str) -> None:
    assert written(group).strip() == kept(ANSWERS)[group]


@pytest.mark.parametrize("group", CHANGED)
def test_one_thing_changed_changes_what_it_did(group: str) -> None:
    assert changes(group).strip() == kept(CHANGES)[group]


if __name__ == "__main__":
    keep(ANSWERS, ALL, written)
    keep(CHANGES, CHANGED, changes)
