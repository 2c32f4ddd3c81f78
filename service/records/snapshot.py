"""The whole database at one moment as a SQLite file, from a running service or beside it, and the proof of it.

SQLite writes it by VACUUM INTO, which sees one moment, waits for nobody and leaves out what was deleted. From
PostgreSQL the rows are read in one REPEATABLE READ transaction and written into the same tables.
"""

import re
import sqlite3
from contextlib import closing
from functools import cache
from pathlib import Path

from sqlalchemy import text

from service.errors import Conflict, NoRoom
from service.records.db import REPOSITORY, Database, alembic_config, migrate, open_database
from service.records.rows import REVISION_TABLE, Digest, digest_of, every_table, read_rows, write_every_table

REVISION = re.compile(r"^(down_)?revision = ['\"](\w+)['\"]", re.MULTILINE)
OWN_TABLES = "select name from sqlite_master where type = 'table' and name not like 'sqlite_%' order by name"


def take_snapshot(database: Database, path: Path) -> None:
    """Write the database as it is now into a new SQLite file."""
    if database.is_sqlite:
        with closing(_looking(Path(str(database.writer.url.database)))) as file:
            _write_out(file, path)
        return
    check_newest(database)
    migrate(f"sqlite:///{path}")
    made = open_database(f"sqlite:///{path}")
    with database.reading() as here, made.writing() as there:
        source = here.connection()
        write_every_table(there.connection(), {table.name: read_rows(source, table) for table in every_table()})
    made.close()
    one_file(path)


def _write_out(file: sqlite3.Connection, path: Path) -> None:
    try:
        file.execute("VACUUM INTO ?", (str(path),))
    except sqlite3.OperationalError as error:
        raise NoRoom(f"The records could not be written out in {path.parent.parent}: {error}.") from error
    except sqlite3.DatabaseError as error:
        raise Conflict(f"The records are spoilt ({error}). Keep the last good backup.") from error


def snapshot_digests(path: Path) -> dict[str, Digest]:
    """The digest of every table as it lies in a SQLite file, of this release or another."""
    with closing(_looking(path)) as file:
        names = [name for (name,) in file.execute(OWN_TABLES) if name != REVISION_TABLE]
        return {name: digest_of(file.execute(f'select * from "{name}" order by 1')) for name in names}  # noqa: S608


def unsound(path: Path) -> list[str]:
    """What SQLite itself finds wrong with a file: its pages, and rows that point at nothing."""
    with closing(_looking(path)) as file:
        told = [line for (line,) in file.execute("PRAGMA integrity_check") if line != "ok"]
        return told + [f"a row of {row[0]} points at nothing" for row in file.execute("PRAGMA foreign_key_check")]


def revision_of(path: Path) -> str:
    """The revision of the tables in a SQLite file."""
    with closing(_looking(path)) as file:
        return str(file.execute("select version_num from alembic_version").fetchone()[0])


def earlier_revision(path: Path) -> str:
    """The revision of a SQLite file whose tables are of another release than this; nothing for a new or current one."""
    if not path.exists():
        return ""
    try:
        found = revision_of(path)
    except sqlite3.OperationalError:  # no tables yet
        return ""
    return "" if found == newest_revision() else found


def is_newest(path: Path) -> bool:
    """Whether a SQLite file is there and its tables are of this release."""
    try:
        return path.exists() and revision_of(path) == newest_revision()
    except sqlite3.OperationalError:  # no tables yet
        return False


def check_known(revision: str) -> None:
    """Refuse tables of a release that this one does not know."""
    from alembic.script import ScriptDirectory

    known = {script.revision for script in ScriptDirectory.from_config(alembic_config("")).walk_revisions()}
    if revision not in known:
        raise Conflict(f"It comes from a newer release (its tables are of revision {revision}). Install that first.")


@cache
def newest_revision() -> str:
    """The revision of this release's tables: the one that no other follows. Read plainly, which is quick at a start."""
    followed: set[str] = set()
    own: set[str] = set()
    for file in (REPOSITORY / "migrations/versions").glob("*.py"):
        for before, revision in REVISION.findall(file.read_text(encoding="utf-8")):
            (followed if before else own).add(revision)
    (newest,) = own - followed
    return newest


def check_newest(database: Database) -> None:
    """Refuse a database whose tables are not of this release."""
    with database.reading() as db:
        found = db.connection().execute(text("select version_num from alembic_version")).scalar_one()
    if found != newest_revision():
        raise Conflict("Its tables are of another release. Run migrate on it first.")


def bring_up(path: Path) -> None:
    """Bring the tables in a SQLite file up to this release."""
    migrate(f"sqlite:///{path}")
    one_file(path)


def _looking(path: Path) -> sqlite3.Connection:
    """A connection that cannot write there, so that it never touches a running service's write-ahead file."""
    return sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True, isolation_level=None)


def one_file(path: Path) -> None:
    """Put everything into the one file, without a write-ahead file beside it."""
    with closing(sqlite3.connect(path)) as file:
        file.execute("PRAGMA journal_mode=DELETE")
