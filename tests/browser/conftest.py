"""A browser, and a running service on a studio that nobody has opened yet."""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright

from service.records.db import migrate, open_database
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
    path = tmp_path / "studio.sqlite"
    shutil.copyfile(empty_studio, path)
    database = open_database(f"sqlite:///{path}")
    with serving(database) as live:
        yield live
    database.close()
