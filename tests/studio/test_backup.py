"""A backup is a backup: put back it equals table by table and photo by photo, and a spoilt one is refused untouched."""

import random
import shutil
import sqlite3
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlmodel import func, select

from service.errors import Conflict, NoRoom
from service.loading import ready_database
from service.records.db import Database, migrate, open_database, sqlite_url
from service.records.pack import packing
from service.records.photo_store import FolderStore, PhotoStore, open_store
from service.records.rows import Digest, digests
from service.records.snapshot import newest_revision
from service.records.tables import Client
from service.settings import Settings
from service.studio.backup import BACKUP, back_up
from service.studio.copying import copy
from service.studio.demo import DEMO_EMAILS, fill_or_refresh
from service.studio.proofs import prove
from service.studio.restoring import restore
from service.studio.sign_in import make_token
from tests.conftest import fresh_url
from tests.serving import PASSWORD, START, open_studio

AT = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


@dataclass(frozen=True)
class Full:
    """The demo studio with its photos and a backup of it."""

    folder: Path
    backup: Path
    digests: dict[str, Digest]
    photos: dict[str, bytes]


@contextmanager
def opened(url: str) -> Iterator[Database]:
    """A database for a while."""
    database = open_database(url)
    yield database
    database.close()


def digests_at(url: str) -> dict[str, Digest]:
    """The digest of every table there."""
    with opened(url) as database, database.reading() as db:
        return digests(db.connection())


def pictures(store: PhotoStore) -> dict[str, bytes]:
    """Every picture in a store."""
    return {name: store.read(name) for name, _ in store.names()}


@pytest.fixture(scope="module")
def full(tmp_path_factory: pytest.TempPathFactory) -> Full:
    """The demo studio, in which somebody has a token, backed up once."""
    folder = tmp_path_factory.mktemp("full")
    store = open_store("", folder)
    migrate(sqlite_url(folder))
    with opened(sqlite_url(folder)) as database:
        fill_or_refresh(database, PASSWORD, 0, AT, store)
        with database.writing() as db:
            make_token(db, DEMO_EMAILS["edda"], AT)
        made = back_up(database, store, folder / "studio.zip", AT)
    found = digests_at(sqlite_url(folder))
    assert (made.rows, made.photos) == (sum(table.rows for table in found.values()), len(pictures(store)))
    return Full(folder, made.path, found, pictures(store))


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A backup of a studio that has just been opened."""
    folder = tmp_path_factory.mktemp("small")
    migrate(sqlite_url(folder))
    with opened(sqlite_url(folder)) as database:
        open_studio(database)
        return back_up(database, open_store("", folder), folder / "studio.zip", AT).path


def test_a_backup_put_back_into_an_empty_folder_equals_table_by_table_and_photo_by_photo(
    full: Full, tmp_path: Path
) -> None:
    store = open_store("", tmp_path)
    done = restore(full.backup, sqlite_url(tmp_path), tmp_path, store)
    assert done.made_at == AT.isoformat()
    assert digests_at(sqlite_url(tmp_path)) == full.digests
    assert pictures(store) == full.photos
    assert sorted(path.name for path in tmp_path.iterdir()) == ["photos", "studio.sqlite"]
    with opened(sqlite_url(tmp_path)) as database, database.reading() as db:
        assert prove(db).faults == ()


def test_a_backup_goes_from_one_kind_of_database_into_the_other_and_back(
    full: Full, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    server, store = fresh_url("postgresql", tmp_path, request), open_store("", tmp_path)
    restore(full.backup, server, tmp_path, store)
    assert digests_at(server) == full.digests
    with opened(server) as database:
        back = back_up(database, store, tmp_path / "from-server.zip", AT)
        with database.writing() as db:
            db.add(Client(name="Hester Vane", created_at=START))  # numbered after the last one there was
        with database.reading() as db:
            assert prove(db).faults == ()
            assert db.exec(select(func.max(Client.id))).one() == full.digests["client"].rows + 1
    there = tmp_path / "there"
    restore(back.path, sqlite_url(there), there, open_store("", there))
    assert digests_at(sqlite_url(there)) == full.digests
    assert pictures(open_store("", there)) == full.photos


def test_a_studio_copied_to_postgresql_and_back_has_equal_digests(
    full: Full, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    here, server, back = sqlite_url(full.folder), fresh_url("postgresql", tmp_path, request), sqlite_url(tmp_path)
    first, last = open_store("", full.folder), open_store("", tmp_path)
    assert copy(here, server, first, first).photos == len(full.photos)
    assert copy(server, back, first, last).rows == sum(table.rows for table in full.digests.values())
    assert digests_at(server) == digests_at(back) == full.digests
    assert pictures(last) == full.photos
    for filled in (server, back):
        with pytest.raises(Conflict, match="There is a studio there already"):
            copy(here, filled, first, last)
    assert digests_at(server) == full.digests
    with pytest.raises(Conflict, match="Both addresses are the same"):
        copy(here, here, first, first)
    with pytest.raises(Conflict, match="There is no studio at"):
        copy(sqlite_url(tmp_path / "none"), server, first, first)


def test_every_flipped_byte_and_every_cut_is_refused_before_anything_is_touched(small: Path, tmp_path: Path) -> None:
    whole, chance, spoilt = small.read_bytes(), random.Random(7), tmp_path / "spoilt.zip"
    flips = {0, 1, len(whole) - 1, *(chance.randrange(len(whole)) for _ in range(50))}
    refused = 0
    for at in sorted(flips):
        spoilt.write_bytes(whole[:at] + bytes([whole[at] ^ (1 << chance.randrange(8))]) + whole[at + 1 :])
        with pytest.raises(Conflict, match="cut short, was changed"):
            restore(spoilt, sqlite_url(tmp_path / "new"), tmp_path / "new", open_store("", tmp_path / "new"))
        refused += 1
    for left in (0, 1, 71, len(whole) // 2, len(whole) - 1):
        spoilt.write_bytes(whole[:left])
        with pytest.raises(Conflict, match="cut short"):
            restore(spoilt, sqlite_url(tmp_path / "new"), tmp_path / "new", open_store("", tmp_path / "new"))
    assert refused >= 50
    assert not (tmp_path / "new").exists()


def test_a_studio_that_is_there_is_never_written_over(small: Path, full: Full, tmp_path: Path) -> None:
    shutil.copyfile(full.folder / "studio.sqlite", tmp_path / "studio.sqlite")
    before = (tmp_path / "studio.sqlite").read_bytes()
    with pytest.raises(Conflict, match="There is a studio there already"):
        restore(small, sqlite_url(tmp_path), tmp_path, open_store("", tmp_path))
    assert (tmp_path / "studio.sqlite").read_bytes() == before


def test_tables_without_a_row_count_as_empty(small: Path, tmp_path: Path) -> None:
    migrate(sqlite_url(tmp_path))
    restore(small, sqlite_url(tmp_path), tmp_path, open_store("", tmp_path))
    assert digests_at(sqlite_url(tmp_path))["account"].rows == 3


def test_a_backup_of_an_earlier_release_is_brought_up_and_one_of_a_later_release_refused(tmp_path: Path) -> None:
    old, new, later = tmp_path / "old", tmp_path / "new", tmp_path / "later"
    for folder in (old, later):
        folder.mkdir()
        migrate(sqlite_url(folder), "0001")
        with closing(sqlite3.connect(folder / "studio.sqlite")) as file, file:
            row = ("Hester Vane", "", "", "", "", 0, "2026-09-01 09:00:00.000000")
            file.execute("insert into client (name, email, phone, address, notes, put_away, created_at) values (?, ?, ?, ?, ?, ?, ?)", row)  # fmt: skip
            if folder == later:
                file.execute("update alembic_version set version_num = '9999'")
        with opened(sqlite_url(folder)) as database:
            back_up(database, open_store("", folder), folder / "studio.zip", AT)
    restore(old / "studio.zip", sqlite_url(new), new, open_store("", new))
    with opened(sqlite_url(new)) as database, database.reading() as db:
        assert db.exec(select(Client.name)).all() == ["Hester Vane"]
        assert db.connection().exec_driver_sql("select version_num from alembic_version").scalar() == newest_revision()
    with pytest.raises(Conflict, match=r"newer release \(its tables are of revision 9999\)"):
        restore(later / "studio.zip", sqlite_url(tmp_path / "x"), tmp_path / "x", open_store("", tmp_path / "x"))


def test_a_backup_made_while_others_write_holds_all_that_was_kept_before_it_began(
    database: Database, tmp_path: Path
) -> None:
    kept, over = 0, threading.Event()

    def keep_clients() -> None:
        nonlocal kept
        while not over.is_set():
            with database.writing() as db:
                db.add(Client(name="Hester Vane", created_at=START))
            kept += 1

    writer = threading.Thread(target=keep_clients)
    writer.start()
    try:
        for number in range(2 if database.is_sqlite else 1):
            before = kept
            made = back_up(database, open_store("", tmp_path), tmp_path / f"{number}.zip", AT)
            after = kept
            there = tmp_path / str(number)
            restore(made.path, sqlite_url(there), there, open_store("", there))
            assert before <= digests_at(sqlite_url(there))["client"].rows <= after + 1
    finally:
        over.set()
        writer.join()
    assert kept > 0


def test_a_service_of_a_later_release_backs_up_before_it_changes_the_tables(tmp_path: Path) -> None:
    ready_database(Settings(data=tmp_path)).close()
    assert not (tmp_path / "backups").exists()
    old, back = tmp_path / "old", tmp_path / "back"
    old.mkdir()
    migrate(sqlite_url(old), "0001")
    for _ in range(2):
        ready_database(Settings(data=old)).close()
    (kept,) = (old / "backups").iterdir()
    assert kept.name.startswith("of-release-0001-")
    restore(kept, sqlite_url(back), back, open_store("", back))
    assert digests_at(sqlite_url(back)) == digests_at(sqlite_url(old))


class NoRoomLeft(FolderStore):
    """A store in which there is no room for the second picture."""

    def keep(self, name: str, content: bytes) -> None:
        if list(self.names()):
            raise NoRoom("There is no room left for photos, so nothing was kept.")
        super().keep(name, content)


def test_a_restoring_that_ends_half_way_leaves_no_studio_and_can_be_done_again(full: Full, tmp_path: Path) -> None:
    with pytest.raises(NoRoom):
        restore(full.backup, sqlite_url(tmp_path), tmp_path, NoRoomLeft(tmp_path / "photos"))
    assert not (tmp_path / "studio.sqlite").exists()
    restore(full.backup, sqlite_url(tmp_path), tmp_path, open_store("", tmp_path))
    assert digests_at(sqlite_url(tmp_path)) == full.digests
    assert pictures(open_store("", tmp_path)) == full.photos


def test_a_backup_needs_a_new_name_and_a_folder(small: Path, sqlite_database: Database, tmp_path: Path) -> None:
    store = open_store("", tmp_path)
    with pytest.raises(Conflict, match="exists already"):
        back_up(sqlite_database, store, small, AT)
    with pytest.raises(Conflict, match="There is no folder"):
        back_up(sqlite_database, store, tmp_path / "none" / "studio.zip", AT)


def test_spoilt_records_are_not_backed_up(sqlite_database: Database, tmp_path: Path) -> None:
    with closing(sqlite3.connect(str(sqlite_database.writer.url.database))) as file, file:
        file.execute("update account set stitcher_id = 77 where stitcher_id = 2")
    with pytest.raises(Conflict, match="The records are spoilt"):
        back_up(sqlite_database, open_store("", tmp_path), tmp_path / "studio.zip", AT)
    assert [path.name for path in tmp_path.iterdir() if "zip" in path.name or "records" in path.name] == []


def test_what_is_no_backup_is_not_put_back(tmp_path: Path) -> None:
    other = tmp_path / "other.zip"
    with packing(other, {"what": f"not {BACKUP}"}) as pack:
        pack.add("words.txt", b"a few")
    with pytest.raises(Conflict, match="is no backup but not a backup"):
        restore(other, sqlite_url(tmp_path), tmp_path, open_store("", tmp_path))
