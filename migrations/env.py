"""How Alembic reaches the studio's tables; run anew by every command."""

import os
from typing import Literal

from alembic import context
from alembic.autogenerate.api import AutogenContext
from sqlalchemy import create_engine, event
from sqlalchemy.engine import Connection
from sqlmodel import SQLModel
from sqlmodel.sql.sqltypes import AutoString

import service.records.tables
from service.records.tables.columns import Instant

assert service.records.tables.__all__


def plainly(kind: str, item: object, _context: AutogenContext) -> str | Literal[False]:
    """Write our column kinds as the library's own, so that old revisions never need our code."""
    if kind == "type" and isinstance(item, Instant):
        return "sa.DateTime(timezone=True)"
    if kind == "type" and isinstance(item, AutoString):
        return "sa.String()"
    return False


def run(connection: Connection) -> None:
    """Run the revisions; SQLite rebuilds whole tables, so its references rest meanwhile."""
    context.configure(
        connection=connection,
        target_metadata=SQLModel.metadata,
        render_as_batch=True,
        compare_type=True,
        compare_server_default=True,
        render_item=plainly,
    )
    with context.begin_transaction():
        context.run_migrations()


url = context.config.attributes.get("url") or os.environ["DATABASE_URL"]
engine = create_engine(url)
if engine.dialect.name == "sqlite":
    # A rebuilt parent table would take its children with it while references are enforced.
    event.listen(engine, "connect", lambda connection, _: connection.execute("PRAGMA foreign_keys=OFF"))
with engine.connect() as connection:
    run(connection)
    connection.commit()
engine.dispose()
