"""Every test of pages and of JSON also looks whether all that the service changed was told."""

from collections.abc import Iterator

import pytest

from tests.telling import looked_over


@pytest.fixture(autouse=True)
def _all_is_told() -> Iterator[None]:
    with looked_over() as shoulder:
        yield
    assert shoulder.faults == [], "changed without an event that tells of it"
