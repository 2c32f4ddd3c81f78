"""The whole studio as plain files in one ZIP, for any other program: every table as CSV and as JSON, and the photos.

Nothing in it lets anybody in: passwords are left out, and so are whole tables of signed-in browsers, tokens and links.
"""

import csv
import json
from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any, Protocol

from sqlalchemy import Boolean, Column, Connection, Date, DateTime, Float, Integer, Table

from service.records.db import Database
from service.records.pack import Packing, packing
from service.records.photo_store import PhotoStore
from service.records.rows import Digest, Row, digest_of, every_table, read_rows, written
from service.records.snapshot import check_newest, newest_revision
from service.studio.backup import Backup, add_photos

EXPORT = "the whole of a Stopline studio as CSV and JSON"
SECRET_TABLES = frozenset(
    {
        *("access_token", "calendar_link", "login_session", "share_link", "window_visit"),
        *("second_step", "recovery_code", "way_in", "known_browser", "sign_in_try"),
    }
)
SECRET_COLUMNS = frozenset({("account", "password_hash")})
RUNS = ("=", "+", "-", "@", "\t", "\r", "\n", "'")
MARK = "\ufeff"
READ_ME = """\
{name}, the whole studio, taken out on {day}.

csv/     one file a table: UTF-8 with its mark, commas, CRLF, the first line names the columns (RFC 4180)
json/    the same rows, one file a table: a list of objects
photos/  the pictures, named by the SHA-256 of the largest size of each; the table photo says what each shows
manifest.json  how many rows each table has, and the SHA-256 of every file

Column names carry their unit: _um is micrometres (25400 are an inch), _minor the smallest unit of the studio's
currency, _tenths tenths of a unit, _ms milliseconds, _bp hundredths of a per cent. Days are year-month-day, moments
ISO 8601 in UTC, yes and no true and false. A column ending in _id holds the id of a row of the table it names.

In CSV an empty cell is nothing at all. Text that a spreadsheet would run as a formula (it begins with = + - @, a tab
or a line end), text that begins with an apostrophe, and empty text in a column that may also hold nothing at all
have one apostrophe put before them: take away one apostrophe at the beginning of a text cell to have the text as it
was. JSON holds every text as it was.

Left out: passwords, second steps, signed-in browsers, tokens, links of clients, calendars and new passwords.

The command  import FILE  reads this file, unchanged, into an empty studio of the same release.
"""


class Written(Protocol):
    """What bytes can be written to."""

    def write(self, content: bytes) -> int:
        """Write some bytes."""


class AsText:
    """Text written to where bytes go."""

    def __init__(self, place: Written) -> None:
        self.place = place

    def write(self, text: str) -> int:
        """Write some text in UTF-8."""
        return self.place.write(text.encode())


def exported_tables() -> list[Table]:
    """The tables that are taken out."""
    return [table for table in every_table() if table.name not in SECRET_TABLES]


def write_export(database: Database, store: PhotoStore, path: Path, at: datetime) -> Backup:
    """Write the whole studio, as it is at one moment, into a new ZIP."""
    check_newest(database)
    with database.reading() as db:
        here = db.connection()
        tables = {table.name: digest_of(map(_values, open_rows(here, table))) for table in exported_tables()}
        listed = {name: {"rows": table.rows, "sha256": table.sha256} for name, table in tables.items()}
        about = {"what": EXPORT, "made_at": at.isoformat(), "revision": newest_revision(), "tables": listed}
        with packing(path, about) as pack:
            name = here.exec_driver_sql("select name from studio").scalar_one()
            pack.add("READ-ME.txt", READ_ME.format(name=name, day=at.date()).encode())
            for table in exported_tables():
                _add_table(pack, table, here)
            photos = add_photos(pack, store)
    return Backup(path, sum(table.rows for table in tables.values()), photos, path.stat().st_size)


def open_rows(here: Connection, table: Table) -> Iterator[Row]:
    """The rows of a table without what would let anybody in."""
    blank = {column: "" for of, column in SECRET_COLUMNS if of == table.name}
    for row in read_rows(here, table):
        yield row | blank


def digests_without_secrets(here: Connection) -> dict[str, Digest]:
    """The digest of every exported table, secrets left out."""
    return {table.name: digest_of(map(_values, open_rows(here, table))) for table in exported_tables()}


def cell_of(column: Column[Any], value: object) -> str:
    """A value as a CSV cell that no spreadsheet runs and from which the same value can be read again.

    >>> from sqlalchemy import Text
    >>> note = Column("note", Text(), nullable=True)
    >>> cell_of(note, "=1+1"), cell_of(note, "'tis"), cell_of(note, ""), cell_of(note, None), cell_of(note, "1+1")
    ("'=1+1", "''tis", "'", '', '1+1')
    """
    if value is None:
        return ""
    if isinstance(value, str):
        held = value.startswith(RUNS) or (not value and column.nullable)
        return f"'{value}" if held else value
    if isinstance(value, bool):
        return "true" if value else "false"
    return repr(value) if isinstance(value, float) else str(written(value))


def value_of(column: Column[Any], cell: str) -> object:
    """The value of a cell that `cell_of` wrote; ValueError if it is no such value.

    >>> from sqlalchemy import Text
    >>> note = Column("note", Text(), nullable=True)
    >>> [value_of(note, cell) for cell in ("'=1+1", "''tis", "'", "", "1+1")]
    ['=1+1', "'tis", '', None, '1+1']
    """
    kind = getattr(column.type, "impl_instance", column.type)
    if not cell and (column.nullable or isinstance(kind, Boolean | Integer | Float | Date | DateTime)):
        return None
    if isinstance(kind, Boolean):
        return {"true": True, "false": False}[cell]
    if isinstance(kind, Integer):
        return int(cell)
    if isinstance(kind, Float):
        return float(cell)
    if isinstance(kind, DateTime):
        return datetime.fromisoformat(cell).astimezone(UTC)
    if isinstance(kind, Date):
        return date.fromisoformat(cell)
    return cell.removeprefix("'")


def rows_of_csv(table: Table, lines: Iterable[str]) -> Iterator[Row]:
    """The rows of a table as they were, from its CSV."""
    read = csv.reader(lines, strict=True)
    columns = [table.columns[name] for name in next(read)]
    for cells in read:
        yield {column.name: value_of(column, cell) for column, cell in zip(columns, cells, strict=True)}


def _values(row: Row) -> tuple[object, ...]:
    return tuple(row.values())


def _add_table(pack: Packing, table: Table, here: Connection) -> None:
    columns = list(table.columns)
    with pack.adding(f"csv/{table.name}.csv") as member:
        text = AsText(member)
        text.write(MARK)
        write = csv.writer(text, lineterminator="\r\n")
        write.writerow([column.name for column in columns])
        for row in open_rows(here, table):
            write.writerow([cell_of(column, row[column.name]) for column in columns])
    with pack.adding(f"json/{table.name}.json") as member:
        text, before = AsText(member), "[\n"
        for row in open_rows(here, table):
            shown = {name: written(value) for name, value in row.items()}
            text.write(before + json.dumps(shown, ensure_ascii=False))
            before = ",\n"
        text.write("[]\n" if before == "[\n" else "\n]\n")
