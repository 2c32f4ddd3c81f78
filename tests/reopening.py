"""One pair of engines for the databases of many tests, one after another.

What a statement becomes in SQL is remembered by its engine, and making it anew for every test takes longer than most
tests do. So each new database is opened through engines that were open before.
"""

from collections.abc import Callable
from typing import Any

from sqlalchemy import Engine, event
from sqlalchemy.engine import URL, make_url

from service.records.db import Database, open_database
from service.records.unchanged import Kept


class Reopening:
    """Engines of one kind of database, lent to one database at a time."""

    def __init__(self) -> None:
        self.engines: tuple[Engine, Engine] | None = None
        self.url: URL | None = None

    def open(self, url: str) -> Database:
        """This database, through the engines lent before if nobody has them."""
        if self.url:
            return open_database(url)
        if not self.engines:
            first = open_database(url)
            self.engines = first.reader, first.writer
            for engine in self.engines:
                event.listen(engine, "do_connect", self._led())
        self.url = make_url(url)
        for engine in self.engines:
            engine.url = self.url
        return Database(url, *self.engines, Kept(url))

    def close(self, database: Database) -> None:
        """Give the connections back, and the engines if they are these."""
        database.close()
        if self.engines and database.writer is self.engines[1]:
            self.url = None

    def _led(self) -> Callable[..., None]:
        def lead(dialect: Any, _record: object, given: list[Any], named: dict[str, Any]) -> None:
            assert self.url, "a database that was closed is asked for something"
            given[:], fresh = dialect.create_connect_args(self.url)
            named.update(fresh)

        return lead


ENGINES = {"sqlite": Reopening(), "postgresql": Reopening()}
