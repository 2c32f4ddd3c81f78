"""A backup put back into an empty studio, on either kind of database: proved first, then all of it or nothing."""

import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection

from service.errors import Conflict
from service.records.db import Database, Writing, migrate, open_database
from service.records.folder import sync_folder
from service.records.pack import Pack, opened
from service.records.photo_store import PhotoStore
from service.records.rows import Digest, digests, every_table, has_rows, read_rows, write_every_table
from service.records.snapshot import (
    bring_up,
    check_known,
    newest_revision,
    one_file,
    revision_of,
    snapshot_digests,
    unsound,
)
from service.studio.after_restoring import Settled
from service.studio.backup import BACKUP, PHOTO_FOLDER, RECORDS

FILLED = "There is a studio there already, and nothing is ever written over one. Name an empty data folder or database."


@dataclass(frozen=True, slots=True)
class Restored:
    """What was put back, from when it is, and what settling it gave."""

    rows: int
    photos: int
    made_at: str
    settled: Settled


def restore(
    backup: Path, url: str, folder: Path, store: PhotoStore, settle: Callable[[Database], Settled] | None = None
) -> Restored:
    """Put a backup back into the empty studio at `url`, whose data folder nobody else uses.

    Raises Conflict, before anything there is touched, if the backup is not whole or the place is not empty. What is
    left to `settle` is done on its records before they are there, so that no cut leaves them unsettled.
    """
    with opened(backup) as pack, _unpacked(pack, backup, folder) as records:
        check_empty(url)
        photos = put_photos(pack, store)
        rows = sum(found.rows for found in snapshot_digests(records).values())
        settled = Settled()
        if settle:
            with _open(f"sqlite:///{records}") as database:
                settled = settle(database)
            one_file(records)
        if url.startswith("sqlite"):
            _put_file(records, Path(url.removeprefix("sqlite:///")))
        else:
            pour(f"sqlite:///{records}", url)
        return Restored(rows, photos, pack.manifest["made_at"], settled)


def check_empty(url: str) -> None:
    """Refuse a database that holds anything."""
    if url.startswith("sqlite") and not Path(url.removeprefix("sqlite:///")).exists():
        return
    with _open(url) as database, database.reading() as db:
        if has_rows(db.connection()):
            raise Conflict(FILLED)


def pour(source: str, target: str) -> dict[str, Digest]:
    """Write every row of one database into another, empty one, and prove that both are equal before it counts."""
    with _open(source) as here, here.reading() as read:
        return fill(target, lambda there: _pour_rows(read.connection(), there))


def fill(
    target: str, writing: Callable[[Connection], dict[str, Digest]], afterwards: Callable[[Writing], None] | None = None
) -> dict[str, Digest]:
    """Fill an empty database in one transaction; `writing` gives the digests that it must then have."""
    check_empty(target)
    migrate(target)
    with _open(target) as database, database.writing() as db:
        there = db.connection()
        if has_rows(there):
            raise Conflict(FILLED)
        expected, found = writing(there), digests(there)
        differing = [name for name in found if found[name] != expected[name]]
        if differing:
            raise Conflict(f"What was written differs from what was read ({', '.join(differing)}); nothing was kept.")
        if afterwards:
            afterwards(db)
        return found


def _pour_rows(here: Connection, there: Connection) -> dict[str, Digest]:
    write_every_table(there, {table.name: read_rows(here, table) for table in every_table()})
    return digests(here)


@contextmanager
def _open(url: str) -> Iterator[Database]:
    database = open_database(url)
    try:
        yield database
    finally:
        database.close()


@contextmanager
def _unpacked(pack: Pack, backup: Path, folder: Path) -> Iterator[Path]:
    """The records of a backup in a file beside their future place, proved table by table, of this release."""
    if pack.manifest["what"] != BACKUP:
        raise Conflict(f"{backup} is no backup but {pack.manifest['what']}. Use import for that.")
    check_known(pack.manifest["revision"])
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix=".restoring-", dir=folder, ignore_cleanup_errors=True) as aside:
        records = Path(aside) / RECORDS
        pack.unpack(RECORDS, records)
        listed = {name: Digest(about["rows"], about["sha256"]) for name, about in pack.manifest["tables"].items()}
        if unsound(records) or snapshot_digests(records) != listed:
            raise Conflict(f"The records in {backup} are not what its list says. Nothing was touched.")
        if revision_of(records) != newest_revision():
            bring_up(records)
        yield records


def put_photos(pack: Pack, store: PhotoStore) -> int:
    """Keep every picture of a pack in the store; gives how many that were."""
    names = [name for name in pack.members if name.startswith(PHOTO_FOLDER)]
    for name in names:
        store.keep(name.removeprefix(PHOTO_FOLDER), pack.read(name))
    return len(names)


def _put_file(records: Path, place: Path) -> None:
    """Give the records their name last, so that an interrupted restoring leaves no studio rather than half a one."""
    for empty in (place, *(place.with_name(place.name + tail) for tail in ("-wal", "-shm"))):
        empty.unlink(missing_ok=True)
    shutil.move(records, place)
    sync_folder(place.parent)
