"""The kill loop of kill_loop.py, short."""

import random
from pathlib import Path

from tests.faults.kill_loop import run


def test_twenty_kills_lose_nothing_acknowledged_and_count_nothing_twice(tmp_path: Path) -> None:
    figures = run(tmp_path, 20, random.Random(7), each=8)
    assert figures.passed, figures.line()
    assert figures.kills == 20
