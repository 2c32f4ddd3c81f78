"""The whole studio as plain files: brought in again it is equal, no spreadsheet runs it, and nothing lets anybody in."""

import csv
import io
import json
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from sqlalchemy import Column, Text
from sqlmodel import col, select

from service.errors import Conflict, Unreadable
from service.records.db import Database, migrate, open_database, sqlite_url
from service.records.photo_store import open_store
from service.records.rows import digest_of, digests, every_table
from service.records.tables import Account, Client
from service.studio.bringing_in import bring_in
from service.studio.export import (
    RUNS,
    SECRET_COLUMNS,
    SECRET_TABLES,
    cell_of,
    digests_without_secrets,
    rows_of_csv,
    value_of,
    write_export,
)
from service.studio.sign_in import begin_session, is_password_of, make_token
from tests.building import a_garment
from tests.conftest import fresh_url
from tests.counting import number, person, work_on
from tests.serving import OWNER, PASSWORD, START, STITCHER

AT = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
NEW_PASSWORD = "eight linen threads"
ODD = ("=HYPERLINK(1)", "'tis hers", 'two\r\nlines, and "more"', "@sum", "+44 1", "", "-", "ßé\u2028", "\ttab")


@contextmanager
def opened(url: str) -> Iterator[Database]:
    """A database for a while."""
    database = open_database(url)
    yield database
    database.close()


@pytest.fixture
def taken(sqlite_database: Database, tmp_path: Path) -> Path:
    """A worked garment, clients with odd notes, a session and a token; all of it exported."""
    with sqlite_database.writing() as db:
        work_on(db, person(db, OWNER), number(a_garment(db, "bib")), lambda row: row.operation == "ladder_knot")
        db.add_all(Client(name=f"Odd {place}", notes=notes, created_at=START) for place, notes in enumerate(ODD))
        begin_session(db, person(db, OWNER).id, AT)
        make_token(db, OWNER, AT)
    store = open_store("", tmp_path)
    store.keep(f"{'a1' * 32}-small.jpg", b"a picture")
    path = tmp_path / "studio.zip"
    write_export(sqlite_database, store, path, AT)
    return path


@pytest.mark.parametrize("target", ["sqlite", "postgresql"])
def test_what_was_taken_out_and_brought_in_again_is_equal(
    taken: Path, target: str, sqlite_database: Database, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    url, store = fresh_url(target, tmp_path, request), open_store("", tmp_path / "new")
    done = bring_in(taken, url, store, NEW_PASSWORD)
    assert store.read(f"{'a1' * 32}-small.jpg") == b"a picture"
    with sqlite_database.reading() as here, opened(url) as other, other.reading() as there:
        assert digests_without_secrets(there.connection()) == digests_without_secrets(here.connection())
        found = digests(there.connection())
        assert {name: found[name].rows for name in SECRET_TABLES} == dict.fromkeys(SECRET_TABLES, 0)
        assert is_password_of(there, OWNER, NEW_PASSWORD)
        assert is_password_of(there, STITCHER, done.passwords[STITCHER])
        assert not is_password_of(there, STITCHER, PASSWORD)
        odd = select(Client.notes).where(col(Client.name).startswith("Odd ")).order_by(col(Client.id))
        assert list(there.exec(odd)) == list(ODD)
    with pytest.raises(Conflict, match="There is a studio there already"):
        bring_in(taken, url, store, NEW_PASSWORD)


def test_csv_and_json_say_the_same_and_no_cell_is_run(taken: Path) -> None:
    with zipfile.ZipFile(taken) as archive:
        listed = json.loads(archive.read("manifest.json"))["tables"]
        for table in (table for table in every_table() if table.name not in SECRET_TABLES):
            text = archive.read(f"csv/{table.name}.csv").decode("utf-8-sig")
            rows = list(rows_of_csv(table, io.StringIO(text, newline="")))
            digest = digest_of(tuple(row.values()) for row in rows)
            assert (digest.rows, digest.sha256) == (listed[table.name]["rows"], listed[table.name]["sha256"])
            told = json.loads(archive.read(f"json/{table.name}.json"))
            assert digest_of(tuple(row.values()) for row in told) == digest
            numbers = {column.name for column in table.columns if not isinstance(column.type, Text)}
            for cells in csv.DictReader(io.StringIO(text, newline="")):
                assert not [cell for name, cell in cells.items() if name not in numbers and cell.startswith(RUNS[:-1])]
        assert "take away one apostrophe" in archive.read("READ-ME.txt").decode()


def test_nothing_in_it_lets_anybody_in(taken: Path, sqlite_database: Database) -> None:
    with sqlite_database.reading() as db:
        hashes = list(db.exec(select(Account.password_hash)))
        kept = [str(value) for name in sorted(SECRET_TABLES) for row in db.connection().exec_driver_sql(f"select * from {name}") for value in row if len(str(value)) == 64]  # fmt: skip
    assert len(hashes) == 3
    assert len(kept) == 2
    with zipfile.ZipFile(taken) as archive:
        everything = b"\n".join(archive.read(name) for name in archive.namelist()).decode("utf-8", errors="replace")
    assert [secret for secret in (*hashes, *kept) if secret in everything] == []


def test_every_column_that_may_hold_a_secret_is_left_out_or_known_to_be_harmless() -> None:
    harmless = {("photo", "sha256"), ("quote", "sealed_sha256"), ("tally", "body_sha256"), ("last_seal", "sha256")}
    harmless |= {("event_seal", name) for name in ("reason_sha256", "previous_sha256", "sha256")}
    smells = ("secret", "hash", "token", "password", "totp", "sha256", "_code")
    found = {(table.name, column.name) for table in every_table() for column in table.columns if any(word in column.name for word in smells)}  # fmt: skip
    assert {place for place in found if place[0] not in SECRET_TABLES} == harmless | SECRET_COLUMNS


def test_a_changed_file_and_one_of_another_release_are_refused(taken: Path, tmp_path: Path) -> None:
    store, url = open_store("", tmp_path / "new"), sqlite_url(tmp_path / "none")
    whole = taken.read_bytes()
    changed = tmp_path / "changed.zip"
    changed.write_bytes(whole[:2000] + bytes([whole[2000] ^ 1]) + whole[2001:])
    with pytest.raises(Conflict, match="cut short, was changed"):
        bring_in(changed, url, store, NEW_PASSWORD)
    with pytest.raises(Unreadable, match="Choose a password"):
        bring_in(taken, url, store, "short")
    assert not (tmp_path / "none").exists()


def test_a_studio_with_the_tables_of_another_release_is_not_taken_out(tmp_path: Path) -> None:
    migrate(sqlite_url(tmp_path), "0001")
    with opened(sqlite_url(tmp_path)) as database, pytest.raises(Conflict, match="Run migrate on it first"):
        write_export(database, open_store("", tmp_path), tmp_path / "x.zip", AT)


TEXTS = st.text(st.characters(codec="utf-8", exclude_characters="\x00"), max_size=20)


@settings(max_examples=100)
@given(texts=st.lists(st.one_of(st.none(), TEXTS), min_size=1, max_size=4), may_be_nothing=st.booleans())
@example(texts=["'", "''", "=", "", None], may_be_nothing=True)
def test_every_text_comes_back_from_csv_as_it_was(texts: list[str | None], may_be_nothing: bool) -> None:
    column = Column("note", Text(), nullable=may_be_nothing)
    said = [text if may_be_nothing else text or "" for text in texts]
    place = io.StringIO(newline="")
    csv.writer(place, lineterminator="\r\n").writerow([*(cell_of(column, text) for text in said), "end"])
    (cells,) = csv.reader(io.StringIO(place.getvalue(), newline=""), strict=True)
    assert [value_of(column, cell) for cell in cells[:-1]] == said
    assert not [cell for cell in cells if cell.startswith(RUNS[:-1])]
