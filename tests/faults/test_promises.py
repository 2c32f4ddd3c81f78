"""What the book promises is shown by something that is there, or says why it is not."""

import pytest

from tests.faults.__main__ import Measuring, read, shown

PROMISES = read("promises.toml")["promise"]
ASVS = read("asvs.toml")["rows"]


def test_every_promise_is_numbered_once_in_order() -> None:
    assert [promise["number"] for promise in PROMISES] == list(range(1, 35))


@pytest.mark.parametrize("promise", PROMISES, ids=lambda promise: str(promise["number"]))
def test_a_promise_is_measured_tested_or_told_as_a_deviation(promise: dict[str, object]) -> None:
    assert shown(promise)
    assert promise["says"]
    assert promise["reach"]
    assert "measure" not in promise or hasattr(Measuring, str(promise["measure"]))


@pytest.mark.parametrize("row", ASVS, ids=lambda row: str(row["no"]))
def test_a_row_of_the_standard_has_a_test_or_a_reason(row: dict[str, object]) -> None:
    assert shown(row)


def test_a_row_with_nothing_behind_it_is_seen() -> None:
    assert not shown({"no": "9.9.9"})
    assert not shown({"no": "9.9.9", "tests": ["tests/web/test_of_nothing.py"]})
