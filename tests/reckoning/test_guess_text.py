"""The text of the starting guesses: every operation as it is counted, each figure with where it comes from."""

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.reckoning.asked import Wrong
from service.reckoning.guess_text import read_guesses
from service.reckoning.guesses import MOST_GUESS_SECONDS, STATED
from service.reckoning.operations import OPERATIONS

TEXT = (Path(__file__).resolve().parents[2] / "seed_data" / "guesses" / "starting.toml").read_text(encoding="utf-8")


def test_the_shipped_file_states_the_guesses_that_the_reckoner_answers_by() -> None:
    assert read_guesses(TEXT) == dict(STATED)
    assert TEXT.count('source = "guess from memory, no source"') == len(STATED)


@pytest.mark.parametrize(
    ("old", "new", "field"),
    [
        ("[mark]", "[scrawl]", "scrawl"),
        ('[mark]\nunit = "cm"', '[mark]\nunit = "knot"', "mark"),
        ("seconds = 3\n", "seconds = 0\n", "mark"),
        ("seconds = 3\n", 'seconds = "3"\n', "mark"),
        ("seconds = 3\n", "seconds = 1e9\n", "mark"),
        ("seconds = 3\n", "", "mark"),
        ("exposure = 0.5", "exposure = 1", "edge_stitch"),
        ('seconds = 3\nsource = "guess from memory, no source"', "seconds = 3", "mark"),
        ("[mark]", "[mark", "guesses"),
    ],
)
def test_what_a_text_of_guesses_may_not_say_is_refused_at_its_operation(old: str, new: str, field: str) -> None:
    with pytest.raises(Wrong) as refused:
        read_guesses(TEXT.replace(old, new, 1))
    assert refused.value.field == field


@settings(max_examples=5)
@given(st.lists(st.floats(1e-3, MOST_GUESS_SECONDS), min_size=len(OPERATIONS), max_size=len(OPERATIONS)))
def test_any_guesses_written_are_read_as_they_were(seconds: list[float]) -> None:
    said = dict(zip(OPERATIONS, seconds, strict=True))
    assert read_guesses("\n".join(_table(name, each) for name, each in said.items())) == said


def _table(name: str, seconds: float) -> str:
    work = OPERATIONS[name]
    finer = f'fineness = "{work.fineness_of}"\nexposure = {work.exposure}\n' if work.fineness_of else ""
    return f'[{name}]\nunit = "{work.unit}"\n{finer}seconds = {seconds!r}\nsource = "a test"\n'
