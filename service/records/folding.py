"""Words compared without regard to capitals and accents, alike on both kinds of database.

SQLite by itself knows the small letters of ASCII only; PostgreSQL knows those of its locale. Here a letter is first
taken apart into itself and its accents, the accents go, and what is left is brought to small letters.
"""

import sqlite3
import unicodedata
from typing import Any

from sqlalchemy import ColumnElement, Engine, and_, event, literal, or_, true
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.sql.functions import FunctionElement
from sqlalchemy.types import String
from sqlmodel import col

STOPS = ",.;:!?()[]\"'“”„‘’«»"
MOST_WORDS = 12
ACCENTS = "'[' || chr(768) || '-' || chr(879) || ']'"


class Folded(FunctionElement[str]):
    """The folded words of a column."""

    type = String()
    inherit_cache = True


@compiles(Folded, "sqlite")
def _on_sqlite(element: Any, compiler: Any, **kept: Any) -> str:
    return f"folded({compiler.process(element.clauses, **kept)})"


@compiles(Folded, "postgresql")
def _on_postgresql(element: Any, compiler: Any, **kept: Any) -> str:
    words = compiler.process(element.clauses, **kept)
    return f"lower(regexp_replace(normalize({words}, NFKD), {ACCENTS}, '', 'g'))"


def fold(words: str | None) -> str | None:
    """Words as they are compared: small letters without accents.

    >>> fold("ÉLODIE Weiß"), fold("Ångström")
    ('elodie weiss', 'angstrom')
    """
    if words is None or words.isascii():
        return words and words.lower()
    apart = unicodedata.normalize("NFKD", words)
    return "".join(letter for letter in apart if not unicodedata.combining(letter)).casefold()


@event.listens_for(Engine, "connect")
def _teach(connection: Any, _record: object) -> None:
    """Teach every connection to SQLite how words are folded."""
    if isinstance(connection, sqlite3.Connection):
        connection.create_function("folded", 1, fold, deterministic=True)


def words_of(typed: str) -> list[str]:
    """The words by which something is looked for, without the stops around them.

    >>> words_of(" Belfast lawn, ivory "), words_of(" , "), words_of("No. 1")
    (['Belfast', 'lawn', 'ivory'], [','], ['No', '1'])
    """
    bare = [word.strip(STOPS) for word in typed.split()]
    return [word for word in bare if word][:MOST_WORDS] or typed.split()[:1]


def holding(typed: str, *columns: Any) -> ColumnElement[bool]:
    """Whether these columns together hold each word typed, in any order, whatever their capitals and accents."""
    return and_(true(), *(_holding(word, columns) for word in words_of(typed)))


def _holding(word: str, columns: tuple[Any, ...]) -> ColumnElement[bool]:
    plain = word.replace("/", "//").replace("%", "/%").replace("_", "/_")
    wanted = Folded(literal(f"%{plain}%"))
    return or_(*(Folded(col(column)).like(wanted, escape="/") for column in columns))
