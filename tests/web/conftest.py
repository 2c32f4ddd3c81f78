"""Every test of pages and of JSON also looks whether all that the service changed was told; services for many tests."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from service.records.db import open_database
from tests.building import a_garment
from tests.filled import demo_copied
from tests.serving import Live, serving
from tests.telling import looked_over


@pytest.fixture(autouse=True)
def _all_is_told() -> Iterator[None]:
    with looked_over() as shoulder:
        yield
    assert shoulder.faults == [], "changed without an event that tells of it"


@contextmanager
def _served(records: Path, folder: Path) -> Iterator[Live]:
    """A service on these records, copied into that folder."""
    path = Path(shutil.copy(records, folder))
    database = open_database(f"sqlite:///{path}")
    with serving(database) as live:
        yield live
    database.close()


@pytest.fixture(scope="module")
def running(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Live]:
    """One service for all tests of a module: what they ask changes nothing."""
    with _served(sqlite_template, tmp_path_factory.mktemp("running")) as live:
        yield live


@pytest.fixture(scope="module")
def with_a_gown(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Live]:
    """The same with a christening gown being made on linen of 20 by 19 threads."""
    with _served(sqlite_template, tmp_path_factory.mktemp("gown")) as live:
        with live.database.writing() as db:
            a_garment(db, "christening_gown")
        yield live


@pytest.fixture
def filled(tmp_path_factory: pytest.TempPathFactory, tmp_path: Path) -> Iterator[Live]:
    """A running service on the demo studio, its pictures too."""
    with demo_copied(tmp_path_factory.getbasetemp(), tmp_path) as database, serving(database) as live:
        yield live
