"""The demo studio in a file, filled once for all test processes, to be copied."""

import os
import shutil
from datetime import UTC, datetime
from pathlib import Path

from service.records.db import migrate, open_database
from service.records.photo_store import FolderStore
from service.setting_up import alone
from service.studio.demo import fill_or_refresh


def demo_in(base: Path) -> Path:
    """The demo's SQLite file, with its photos beside it, below the folder that all processes of a run share.

    A process by itself has `base` alone.
    """
    folder = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "demo"
    with alone(base.parent / "demo.lock"):
        if not folder.exists():
            aside = folder.with_name("demo being filled")
            shutil.rmtree(aside, ignore_errors=True)
            aside.mkdir()
            _fill(aside)
            aside.rename(folder)
    return folder / "studio.sqlite"


def _fill(folder: Path) -> None:
    url = f"sqlite:///{folder / 'studio.sqlite'}"
    migrate(url)
    database = open_database(url)
    fill_or_refresh(database, "linen and patience", 0, datetime.now(UTC), FolderStore(folder / "photos"))
    database.close()
