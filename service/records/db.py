"""The database: engines for reading and for writing, and the two kinds of session.

SQLite: one connection writes, its transactions begin IMMEDIATE and are synced to disk at commit; reading
sessions see one snapshot and cannot write. PostgreSQL: the same two kinds, with its own means.
"""

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, NewType

from sqlalchemy import Engine, create_engine, event, inspect, text
from sqlalchemy.engine import make_url
from sqlmodel import Session

from service.records.chain import seal_new_events
from service.records.folder import DATABASE_NAME
from service.records.prepared import Prepared
from service.records.trail import BY, tell_the_rest
from service.records.unchanged import Kept

if TYPE_CHECKING:
    from alembic.config import Config

Reading = NewType("Reading", Session)
Writing = NewType("Writing", Session)

REPOSITORY = Path(__file__).resolve().parents[2]
WAIT_FOR_A_TURN_S = 30
POSTGRESQL_DISK_FULL = "53100"
READERS = 8
READERS_CACHE_KB = 1000  # each; the operating system keeps the file itself in memory
_BEGIN, _BEGIN_TO_WRITE = Prepared(text("BEGIN")), Prepared(text("BEGIN IMMEDIATE"))


@dataclass(frozen=True, slots=True)
class Database:
    """Both engines of one studio's database, and what is kept of its answers while nothing is written."""

    url: str
    reader: Engine
    writer: Engine
    kept: Kept = field(compare=False, repr=False)

    @contextmanager
    def reading(self) -> Iterator[Reading]:
        """A session that sees one snapshot and writes nothing."""
        with Session(self.reader, info=self.kept.opening()) as session:
            yield Reading(session)

    @contextmanager
    def writing(self, by: int | None = None) -> Iterator[Writing]:
        """A session that holds the writer's turn, for whose account; leaving it normally commits, an error rolls back.

        What was changed is told in the same transaction, and what is told is sealed.
        """
        with Session(self.writer, info={BY: by}) as session:
            yield Writing(session)
            tell_the_rest(session)
            seal_new_events(session)
            session.commit()

    def overwrite_what_was_deleted(self) -> None:
        """Leave no word in the SQLite file that no row says any more: its free pages and its log keep them."""
        if not self.is_sqlite:
            return
        with closing(self.writer.raw_connection()) as connection:
            for statement in ("VACUUM", "PRAGMA wal_checkpoint(TRUNCATE)"):
                connection.cursor().execute(statement)

    def close(self) -> None:
        """Give all connections back."""
        self.kept.close()
        self.reader.dispose()
        self.writer.dispose()

    @property
    def is_sqlite(self) -> bool:
        """Whether this studio lives in a SQLite file."""
        return self.writer.dialect.name == "sqlite"


def sqlite_url(folder: Path) -> str:
    """The address of the SQLite file in a data folder."""
    return f"sqlite:///{folder / DATABASE_NAME}"


def open_database(url: str, *, guest: bool = False) -> Database:
    """Open both engines. A guest (a command beside the running service) leaves the write-ahead file alone."""
    if make_url(url).get_backend_name() == "sqlite":
        return _open_sqlite(url, guest=guest)
    return _open_postgresql(url)


def _open_sqlite(url: str, *, guest: bool) -> Database:
    options: dict[str, Any] = {"connect_args": {"timeout": WAIT_FOR_A_TURN_S, "isolation_level": None}}
    reader = create_engine(url, pool_size=READERS, max_overflow=READERS, **options)
    writer = create_engine(url, pool_size=1, max_overflow=0, pool_timeout=WAIT_FOR_A_TURN_S, **options)
    shared = ["PRAGMA foreign_keys=ON", "PRAGMA journal_mode=WAL", "PRAGMA synchronous=FULL"]
    if guest:
        # Before 3.51.3 two connections that checkpoint at the same instant can spoil a write-ahead file.
        shared.append("PRAGMA wal_autocheckpoint=0")
    event.listen(
        reader, "connect", _saying([*shared, "PRAGMA query_only=ON", f"PRAGMA cache_size=-{READERS_CACHE_KB}"])
    )
    event.listen(writer, "connect", _saying(shared))
    event.listen(reader, "begin", lambda connection: _BEGIN.rows(connection, {}))
    event.listen(writer, "begin", lambda connection: _BEGIN_TO_WRITE.rows(connection, {}))
    return Database(url, reader, writer, Kept(url))


def _saying(statements: list[str]) -> Any:
    def on_connect(connection: Any, _record: object) -> None:
        for statement in statements:
            connection.execute(statement)

    return on_connect


def _open_postgresql(url: str) -> Database:
    options: dict[str, Any] = {"pool_pre_ping": True, "pool_timeout": WAIT_FOR_A_TURN_S}
    reader = create_engine(
        url,
        pool_size=READERS,
        isolation_level="REPEATABLE READ",
        execution_options={"postgresql_readonly": True},
        **options,
    )
    return Database(url, reader, create_engine(url, pool_size=READERS, **options), Kept(url))


def alembic_config(url: str) -> "Config":
    """Alembic's settings from pyproject.toml, for this database."""
    from alembic.config import Config

    config = Config(toml_file=str(REPOSITORY / "pyproject.toml"))
    config.set_main_option("script_location", str(REPOSITORY / "migrations"))
    config.attributes["url"] = url
    return config


def migrate(url: str, revision: str = "head") -> None:
    """Bring the database's tables up to `revision`."""
    from alembic import command

    command.upgrade(alembic_config(url), revision)


def is_out_of_room(error: Exception) -> bool:
    """Whether the database failed because its disk is full or cannot be written, not because it is busy."""
    cause = getattr(error, "orig", None)
    code = getattr(cause, "sqlite_errorcode", None)
    if code is not None:
        return int(code) & 0xFF in {sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR, sqlite3.SQLITE_READONLY}
    return getattr(cause, "sqlstate", None) == POSTGRESQL_DISK_FULL


def is_empty(database: Database) -> bool:
    """Whether the database has no tables at all yet."""
    return not inspect(database.reader).get_table_names()


def sqlite_facts(database: Database) -> dict[str, str]:
    """Version, journal, sync level and writers of SQLite, for the health answer; empty on PostgreSQL."""
    if not database.is_sqlite:
        return {}
    with database.writer.connect() as connection:
        asked = {
            "sqlite": "select sqlite_version()",
            "journal": "PRAGMA journal_mode",
            "synchronous": "PRAGMA synchronous",
        }
        facts = {name: str(connection.execute(text(sql)).scalar_one()) for name, sql in asked.items()}
    return {**facts, "writers": "one alone, as this version needs" if needs_one_writer(facts["sqlite"]) else "one"}


def needs_one_writer(version: str) -> bool:
    """Whether two connections that checkpoint at the same instant can spoil a write-ahead file of this SQLite.

    https://sqlite.org/wal.html#walresetbug: from 3.7.0 on, mended in 3.51.3, 3.50.7 and 3.44.6.

    >>> [needs_one_writer(version) for version in ("3.40.1", "3.44.5", "3.44.6", "3.50.7", "3.51.2", "3.51.3", "4.0")]
    [True, True, False, False, True, False, False]
    """
    release = tuple(int(part) for part in version.split("."))
    mended = release[:2] in {(3, 44), (3, 50)} and release >= {44: (3, 44, 6), 50: (3, 50, 7)}[release[1]]
    return (3, 7) <= release < (3, 51, 3) and not mended
