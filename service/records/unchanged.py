"""Answers of the records that are kept as long as nothing at all is written.

SQLite counts for every connection what others have committed (PRAGMA data_version): one connection that does nothing
else watches that count. It is looked at before a reading session sees anything, so an answer is never older than the
count it is kept under; a write by whomever makes the next question be asked anew. PostgreSQL names what a transaction
sees by its snapshot: two that are named alike see the same.
"""

import sqlite3
from collections.abc import Callable, Hashable
from functools import wraps
from threading import Lock
from typing import Any, Concatenate, ParamSpec, TypeVar

from sqlalchemy import text
from sqlalchemy.engine import make_url
from sqlmodel import Session

KEPT, MARK = "kept", "mark"
MOST = 500  # answers to one query
SNAPSHOT = text("select pg_current_snapshot()::text")

S = TypeVar("S", bound=Session)
P = ParamSpec("P")
T = TypeVar("T")


class Kept:
    """The answers under the newest mark; one of these a database."""

    def __init__(self, url: str) -> None:
        address = make_url(url)
        self._file = str(address.database) if address.get_backend_name() == "sqlite" else ""
        self._watching: sqlite3.Connection | None = None
        self._turn = Lock()
        self._answers: tuple[Hashable, dict[str, dict[Hashable, Any]]] = (None, {})

    def opening(self) -> dict[str, Any]:
        """What a reading session is told when it opens."""
        return {KEPT: self, MARK: self._count()} if self._file else {KEPT: self}

    def answer(self, db: Session, query: str, question: Hashable, ask: Callable[[], T], most: int) -> T:
        """The query's answer as it was given under this session's mark, or asked now.

        It is read by many: nobody changes it.
        """
        mark = db.info.get(MARK)
        if mark is None:
            mark = db.info[MARK] = db.connection().execute(SNAPSHOT).scalar_one()
        under, answers = self._answers
        if under != mark:
            _, answers = self._answers = (mark, {})
        own = answers.setdefault(query, {})
        if question in own:
            found: T = own[question]
            return found
        asked = ask()
        if len(own) >= most:
            own.clear()
        own[question] = asked
        return asked

    def close(self) -> None:
        """Watch no more."""
        with self._turn:
            if self._watching is not None:
                self._watching.close()
                self._watching = None
            self._answers = (None, {})  # whoever watches next begins to count anew

    def _count(self) -> int:
        with self._turn:
            if self._watching is None:
                self._watching = sqlite3.connect(self._file, check_same_thread=False, isolation_level=None)
            return int(self._watching.execute("PRAGMA data_version").fetchone()[0])


def kept_while_unchanged(
    most: int,
) -> Callable[[Callable[Concatenate[S, P], T]], Callable[Concatenate[S, P], T]]:
    """Let so many of a query's answers be kept while nothing is written; it asks nothing but the records and what it is
    given.

    A writing session asks anew each time.
    """

    def keeping(query: Callable[Concatenate[S, P], T]) -> Callable[Concatenate[S, P], T]:
        name = f"{query.__module__}.{query.__qualname__}"

        @wraps(query)
        def asked(db: S, /, *args: P.args, **kwargs: P.kwargs) -> T:
            kept: Kept | None = db.info.get(KEPT)
            if kept is None:
                return query(db, *args, **kwargs)
            question = args, tuple(kwargs.items())
            return kept.answer(db, name, question, lambda: query(db, *args, **kwargs), most)

        return asked

    return keeping


def while_unchanged(query: Callable[Concatenate[S, P], T]) -> Callable[Concatenate[S, P], T]:
    """Let a query's answers be kept, as many as are usual."""
    return kept_while_unchanged(MOST)(query)
