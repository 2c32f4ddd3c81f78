"""A full disk spoils nothing, as disk_full.py shows it, once each way that this machine allows."""

from pathlib import Path

import pytest

from tests.faults.disk_full import WAYS, run


@pytest.mark.parametrize("way", WAYS)
def test_a_full_disk_is_told_and_reading_goes_on_and_nothing_answered_or_typed_is_lost(
    way: str, tmp_path: Path
) -> None:
    figures = run(way, tmp_path)
    assert figures.passed, figures.line()
