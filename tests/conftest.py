"""What every test may ask for: both kinds of database, migrated from nothing, and a real server over HTTP."""

import itertools
import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import httpx2
import pytest
from hypothesis import settings

from service.records.db import Database, migrate, open_database
from service.setting_up import alone
from tests.building import a_garment
from tests.databases import make_database, postgresql, say
from tests.quoting import charge
from tests.reopening import ENGINES
from tests.serving import OWNER, SECOND, STITCHER, Live, open_studio, serving

# The same cases everywhere, a quarter of the usual: each is met again at every change.
settings.register_profile("ci", settings.get_profile("ci"), max_examples=25)
KINDS = ("sqlite", "postgresql")
NUMBERS = itertools.count(1)


@pytest.fixture(scope="session")
def sqlite_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite file with an opened studio, migrated from nothing once and copied for each test."""

    def made(path: Path) -> None:
        _prepare(f"sqlite:///{path}")

    return _made_once(tmp_path_factory, "opened", made)


@pytest.fixture(scope="session")
def postgresql_server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A PostgreSQL of the tests' own; gives the address of its first database."""
    with postgresql(tmp_path_factory.getbasetemp().parent / "postgresql.lock") as server:
        # Hundreds of databases that nobody will read again need not survive a power cut.
        spared = ("ALTER SYSTEM SET fsync = off", "ALTER SYSTEM SET full_page_writes = off")
        say(server, *spared, "SELECT pg_reload_conf()")
        yield server


@pytest.fixture(scope="session")
def postgresql_template(postgresql_server: str) -> str:
    """The name of a PostgreSQL database with an opened studio, migrated from nothing once."""
    _prepare(make_database(postgresql_server, "opened"))
    return "opened"


def fresh_url(kind: str, tmp_path: Path, request: pytest.FixtureRequest) -> str:
    """The address of a new database without any table."""
    if kind == "sqlite":
        return f"sqlite:///{tmp_path / f'fresh{next(NUMBERS)}.sqlite'}"
    server: str = request.getfixturevalue("postgresql_server")
    name = f"fresh{next(NUMBERS)}"
    return make_database(server, name)


@pytest.fixture(params=KINDS)
def kind(request: pytest.FixtureRequest) -> str:
    """Each kind of database in turn."""
    return str(request.param)


@pytest.fixture
def bare_url(kind: str, tmp_path: Path, request: pytest.FixtureRequest) -> str:
    """A database without any table, of each kind."""
    return fresh_url(kind, tmp_path, request)


@pytest.fixture
def database(kind: str, tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Database]:
    """An opened studio without any record of work, on each kind of database."""
    yield from _opened(kind, tmp_path, request)


@pytest.fixture
def sqlite_database(tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Database]:
    """The same on SQLite alone, for tests of pages."""
    yield from _opened("sqlite", tmp_path, request)


@pytest.fixture(scope="session")
def quotable_template(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite file with what the studio charges and a garment to quote for, made once and copied for each test."""

    def made(path: Path) -> None:
        shutil.copyfile(sqlite_template, path)
        opened = open_database(f"sqlite:///{path}")
        with opened.writing() as db:
            charge(db)
            a_garment(db, "handkerchief")
        opened.close()

    return _made_once(tmp_path_factory, "quotable", made)


@pytest.fixture
def quotable(quotable_template: Path, tmp_path: Path) -> Iterator[Database]:
    """A studio that charges and has a garment to quote for."""
    path = tmp_path / "studio.sqlite"
    shutil.copyfile(quotable_template, path)
    opened = ENGINES["sqlite"].open(f"sqlite:///{path}")
    yield opened
    ENGINES["sqlite"].close(opened)


@pytest.fixture
def live(sqlite_database: Database) -> Iterator[Live]:
    """A running service on an opened studio (SQLite)."""
    with serving(sqlite_database) as running:
        yield running


@pytest.fixture
def live_on_each(database: Database) -> Iterator[Live]:
    """A running service on an opened studio, on each kind of database."""
    with serving(database) as running:
        yield running


@pytest.fixture
def owner(live: Live) -> Iterator[httpx2.Client]:
    """The owner, signed in."""
    with closing(live.signed_in(OWNER)) as client:
        yield client


@pytest.fixture
def stitcher(live: Live) -> Iterator[httpx2.Client]:
    """A stitcher, signed in."""
    with closing(live.signed_in(STITCHER)) as client:
        yield client


@pytest.fixture
def second(live: Live) -> Iterator[httpx2.Client]:
    """A second stitcher, signed in."""
    with closing(live.signed_in(SECOND)) as client:
        yield client


def _made_once(factory: pytest.TempPathFactory, name: str, make: Callable[[Path], None]) -> Path:
    """A file that the first of the test processes to need it makes for all of them."""
    folder = factory.getbasetemp().parent if "PYTEST_XDIST_WORKER" in os.environ else factory.getbasetemp()
    with alone(folder / f"{name}.lock"):
        path = folder / f"{name}.sqlite"
        if not path.exists():
            making = folder / f"{name}.making.sqlite"
            make(making)
            making.rename(path)
    return path


def _prepare(url: str) -> None:
    migrate(url)
    database = open_database(url)
    open_studio(database)
    database.close()


def _opened(kind: str, tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Database]:
    if kind == "sqlite":
        path = tmp_path / "studio.sqlite"
        shutil.copyfile(request.getfixturevalue("sqlite_template"), path)
        url = f"sqlite:///{path}"
    else:
        template = request.getfixturevalue("postgresql_template")
        server = request.getfixturevalue("postgresql_server")
        name = f"studio{next(NUMBERS)}"
        url = make_database(server, name, template)
    opened = ENGINES[kind].open(url)
    yield opened
    ENGINES[kind].close(opened)
    if kind == "postgresql":
        say(server, f'DROP DATABASE "{name}" WITH (FORCE)')
