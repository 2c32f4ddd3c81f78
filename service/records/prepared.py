"""Statements put into words once for each kind of database and then run as they are, for what is done all the time.

Values go in and come out as their columns' types say, and rows come as plain tuples. What fails is raised as SQLAlchemy
raises it, and whoever listens to an engine's statements hears these too. The transaction must have begun.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Executable
from sqlalchemy.engine import Dialect
from sqlalchemy.exc import DBAPIError

Process = Callable[[Any], Any]
Row = tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class _Words:
    """A statement for one kind of database: how values go in by their names, how some columns come out."""

    sql: str
    fixed: dict[str, Any]
    names: tuple[str, ...]
    into: tuple[Process | None, ...]
    out: tuple[tuple[int, Process], ...]
    by_place: bool


class Prepared:
    """One statement."""

    def __init__(self, statement: Executable) -> None:
        self._statement = statement
        self._words: dict[str, _Words] = {}

    def rows(self, connection: Connection, values: Mapping[str, Any]) -> list[Row]:
        """What it answers; nothing when it only changes."""
        words = self._words.get(connection.dialect.name) or self._put(connection.dialect)
        said = {**words.fixed, **values}
        given = [
            said[name] if process is None else process(said[name])
            for name, process in zip(words.names, words.into, strict=True)
        ]
        sent: Any = given if words.by_place else dict(zip(words.names, given, strict=True))
        dbapi = connection.dialect.loaded_dbapi
        cursor = connection.connection.cursor()
        for hear in connection.engine.dispatch.before_cursor_execute:
            hear(connection, cursor, words.sql, sent, None, False)  # noqa: FBT003 (as SQLAlchemy calls it)
        try:
            cursor.execute(words.sql, sent)
            rows: list[Row] = list(cursor.fetchall()) if cursor.description else []
        except dbapi.Error as error:
            raise DBAPIError.instance(words.sql, None, error, dbapi.Error) from error
        finally:
            cursor.close()
        return [_out(row, words.out) for row in rows] if words.out else rows

    def _put(self, dialect: Dialect) -> _Words:
        compiled: Any = self._statement.compile(dialect=dialect)  # type: ignore[attr-defined]
        fixed: dict[str, Any] = compiled.params
        names = tuple(compiled.positiontup or fixed)
        kinds = [compiled.binds[name].type.dialect_impl(dialect) for name in names]
        columns = getattr(self._statement, "selected_columns", ())
        comes = [column.type.dialect_impl(dialect).result_processor(dialect, None) for column in columns]
        self._words[dialect.name] = _Words(
            compiled.string,
            fixed,
            names,
            tuple(kind.bind_processor(dialect) for kind in kinds),
            tuple((place, process) for place, process in enumerate(comes) if process is not None),
            by_place=compiled.positional,
        )
        return self._words[dialect.name]


def _out(row: Row, out: tuple[tuple[int, Process], ...]) -> Row:
    values = list(row)
    for place, process in out:
        values[place] = process(values[place])
    return tuple(values)
