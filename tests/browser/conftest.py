"""A browser, and a running service on a studio that nobody has opened yet."""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright

from service.records.db import migrate, open_database
from tests.browser.at_table import Gown, make_gown, running
from tests.filled import demo_in
from tests.serving import Live, serving

QUIET = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Chromium, without anything that would reach another host."""
    found = os.environ.get("STOPLINE_CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
    with sync_playwright() as driver:
        started = driver.chromium.launch(executable_path=found, args=list(QUIET))
        yield started
        started.close()


@pytest.fixture(scope="session")
def empty_studio(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite file with all tables and nothing in them, to be copied."""
    path = tmp_path_factory.mktemp("empty") / "studio.sqlite"
    migrate(f"sqlite:///{path}")
    return path


@pytest.fixture
def unopened(empty_studio: Path, tmp_path: Path) -> Iterator[Live]:
    """A running service whose studio has no owner yet."""
    path = tmp_path / "unopened.sqlite"
    shutil.copyfile(empty_studio, path)
    database = open_database(f"sqlite:///{path}")
    with serving(database) as live:
        yield live
    database.close()


@pytest.fixture(scope="session")
def demo_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo studio in a SQLite file of this test process's own; filled once for all that run side by side."""
    own = tmp_path_factory.getbasetemp()
    return Path(shutil.copytree(demo_in(own).parent, own / "demo")) / "studio.sqlite"


@pytest.fixture(scope="session")
def gown(tmp_path_factory: pytest.TempPathFactory) -> Gown:
    """The gown at the table and the numbers of its steps."""
    return make_gown(tmp_path_factory.mktemp("gown") / "studio.sqlite")


@pytest.fixture
def live_gown(gown: Gown, tmp_path: Path) -> Iterator[Live]:
    """The gown's studio, running."""
    with running(gown, tmp_path / "studio") as live:
        yield live
