"""Keys sent five times at once, to one service and to two on one PostgreSQL, after a kill and after a backup."""

from pathlib import Path

import pytest

from tests.conftest import fresh_url
from tests.faults.many_at_once import Place, keys


@pytest.mark.parametrize(("kind", "services"), [("sqlite", 1), ("postgresql", 2)])
def test_every_key_counts_once_however_often_and_wherever_it_is_sent(
    kind: str, services: int, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    urls = [fresh_url(kind, tmp_path, request) for _ in range(2)] if kind == "postgresql" else ["", ""]
    figures = keys(Place(tmp_path, services, *urls), clients=16, each=2)
    assert figures.passed, (figures.line(), figures.odd)
