"""Whole tables read, written and compared row by row: what a copy, a restored backup and a brought-in studio rest on.

The digest of a table is the SHA-256 of its rows in the order of their numbers, every column of a row as JSON, one row
a line. Instants are written in UTC, so a studio has the same digests in SQLite and in PostgreSQL.
"""

import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import islice
from typing import Any

from sqlalchemy import Connection, Table, func, insert, inspect, select, text
from sqlalchemy.schema import AddConstraint, DropConstraint
from sqlmodel import SQLModel

import service.records.tables

assert service.records.tables.__all__

AT_A_TIME = 2000
REVISION_TABLE = "alembic_version"
Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Digest:
    """How many rows a table has, and the SHA-256 of them."""

    rows: int
    sha256: str


def every_table() -> list[Table]:
    """The studio's tables by name."""
    return [table for _, table in sorted(SQLModel.metadata.tables.items())]


def read_rows(connection: Connection, table: Table) -> Iterator[Row]:
    """The rows of a table in the order of their numbers."""
    asked = select(table).order_by(*table.primary_key)
    found = connection.execute(asked, execution_options={"yield_per": AT_A_TIME})
    for row in found.mappings():
        yield dict(row)


def written(value: object) -> object:
    """A value as JSON takes it: days and instants in ISO 8601.

    >>> written(date(2026, 11, 25)), written(7), written(None)
    ('2026-11-25', 7, None)
    """
    return value.isoformat() if isinstance(value, date | datetime) else value


def digest_of(rows: Iterable[Sequence[object]]) -> Digest:
    """The digest of rows, each given as its values in the order of the columns.

    >>> digest_of([]).rows, digest_of([(1, "a")]) == digest_of([(1, "b")])
    (0, False)
    """
    digest, count = hashlib.sha256(), 0
    for row in rows:
        line = json.dumps([written(value) for value in row], ensure_ascii=False, separators=(",", ":"))
        digest.update(line.encode() + b"\n")
        count += 1
    return Digest(count, digest.hexdigest())


def digests(connection: Connection) -> dict[str, Digest]:
    """The digest of every table."""
    return {table.name: digest_of(map(_values, read_rows(connection, table))) for table in every_table()}


def _values(row: Row) -> tuple[object, ...]:
    return tuple(row.values())


def has_rows(connection: Connection) -> bool:
    """Whether any table there is holds anything, whatever release the tables are of."""
    names = set(inspect(connection).get_table_names()) - {REVISION_TABLE}
    return any(connection.execute(text(f'select 1 from "{name}" limit 1')).first() for name in names)  # noqa: S608


def write_rows(connection: Connection, table: Table, rows: Iterable[Row]) -> None:
    """Add rows with the numbers they have."""
    waiting = iter(rows)
    while some := list(islice(waiting, AT_A_TIME)):
        connection.execute(insert(table), some)


def write_every_table(connection: Connection, rows_of: Mapping[str, Iterable[Row]]) -> None:
    """Fill empty tables. References are proved at the end, because rows may point at rows that come later."""
    if connection.dialect.name == "sqlite":
        connection.execute(text("PRAGMA defer_foreign_keys=ON"))
        _write(connection, rows_of)
        return
    references = [reference for table in every_table() for reference in table.foreign_key_constraints]
    for reference in references:
        connection.execute(DropConstraint(reference))
    _write(connection, rows_of)
    for reference in references:
        connection.execute(AddConstraint(reference))
    _count_on(connection)


def _write(connection: Connection, rows_of: Mapping[str, Iterable[Row]]) -> None:
    for table in every_table():
        write_rows(connection, table, rows_of[table.name])


def _count_on(connection: Connection) -> None:
    """Have PostgreSQL number the next row after the last one there is."""
    for table in every_table():
        last = connection.execute(select(func.max(table.c.id))).scalar_one()
        if last is not None:
            asked = text("select setval(pg_get_serial_sequence(:name, 'id'), :last)")
            connection.execute(asked, {"name": table.name, "last": last})
