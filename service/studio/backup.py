"""Backups: the whole studio in one file, its records at one moment and every photo, proved before it gets its name."""

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from service.errors import Conflict, NotFound
from service.records.db import Database
from service.records.pack import Packing, packing
from service.records.photo_store import ASIDE, PhotoStore
from service.records.snapshot import revision_of, snapshot_digests, take_snapshot, unsound

BACKUP = "a backup of a Stopline studio"
RECORDS = "studio.sqlite"
RECORDS_ASIDE = ".records-"
PHOTO_FOLDER = "photos/"


@dataclass(frozen=True, slots=True)
class Backup:
    """What a backup holds."""

    path: Path
    rows: int
    photos: int
    bytes: int


def back_up(database: Database, store: PhotoStore, path: Path, at: datetime) -> Backup:
    """Write a backup into a new file, while the studio goes on working.

    Raises Conflict if the file exists, its folder does not, or the records are spoilt; NoRoom if the disk is full.
    """
    with _records_now(database, path.parent) as records:
        tables = snapshot_digests(records)
        about: dict[str, Any] = {
            "what": BACKUP,
            "made_at": at.isoformat(),
            "revision": revision_of(records),
            "tables": {name: {"rows": table.rows, "sha256": table.sha256} for name, table in tables.items()},
        }
        with packing(path, about) as pack:
            pack.add_file(RECORDS, records)
            photos = add_photos(pack, store)
    return Backup(path, sum(table.rows for table in tables.values()), photos, path.stat().st_size)


@contextmanager
def _records_now(database: Database, folder: Path) -> Iterator[Path]:
    """The records at one moment, in a file beside where the backup is to lie: there is the room for it."""
    if not folder.is_dir():
        raise Conflict(f"There is no folder {folder}. Make it first, or name another file.")
    with tempfile.TemporaryDirectory(prefix=RECORDS_ASIDE, dir=folder, ignore_cleanup_errors=True) as aside:
        records = Path(aside) / RECORDS
        take_snapshot(database, records)
        if faults := unsound(records):
            raise Conflict(f"The records are spoilt ({faults[0]}), so no backup was made. Keep the last good one.")
        yield records


def add_photos(pack: Packing, store: PhotoStore) -> int:
    """Every whole picture in the store; one that is taken out of the book meanwhile is left out."""
    count = 0
    for name in sorted(name for name, _ in store.names() if not name.endswith(ASIDE)):
        try:
            content = store.read(name)
        except NotFound:
            continue
        pack.add(PHOTO_FOLDER + name, content, shrink=False)
        count += 1
    return count
