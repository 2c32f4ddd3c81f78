"""The demo studio in a file, filled once for all test processes, to be copied."""

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from service.records.db import Database, migrate, open_database
from service.records.photo_store import FolderStore
from service.setting_up import alone
from service.studio.demo import fill_or_refresh


def demo_in(base: Path) -> Path:
    """The demo's SQLite file, with its photos beside it, in the folder that all processes of a run share.

    A process by itself has `base` alone.
    """
    common = base.parent if "PYTEST_XDIST_WORKER" in os.environ else base
    filled = common / "demo-studio"
    with alone(common / "demo-studio.lock"):
        if not filled.exists():
            _fill(common / "demo-being-filled")
            (common / "demo-being-filled").rename(filled)
    return filled / "studio.sqlite"


@contextmanager
def demo_copied(base: Path, folder: Path) -> Iterator[Database]:
    """The demo that `demo_in` fills, copied with its photos into that folder, where it may be changed."""
    made = demo_in(base)
    shutil.copytree(made.parent, folder / "demo")
    database = open_database(f"sqlite:///{folder / 'demo' / made.name}")
    yield database
    database.close()


def _fill(folder: Path) -> None:
    url = f"sqlite:///{folder / 'studio.sqlite'}"
    folder.mkdir()
    migrate(url)
    database = open_database(url)
    fill_or_refresh(database, "linen and patience", 0, datetime.now(UTC), FolderStore(folder / "photos"))
    database.close()
