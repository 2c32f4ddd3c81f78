"""Statements put into SQL once: the same rows and faults as by the usual way, on both kinds of database."""

from datetime import UTC, datetime
from typing import Any

import pytest
from sqlalchemy import bindparam, event, insert, select, update
from sqlalchemy.exc import IntegrityError
from sqlmodel import SQLModel

from service.records.db import Database
from service.records.prepared import Prepared
from tests.serving import OWNER, START

ACCOUNT = SQLModel.metadata.tables["account"].c
FOUND = select(ACCOUNT.id, ACCOUNT.created_at, ACCOUNT.active, ACCOUNT.role).where(
    ACCOUNT.email == bindparam("email"), ACCOUNT.role == "owner"
)
WRITTEN = {
    "token": (
        insert(SQLModel.metadata.tables["access_token"])
        .values({name: bindparam(name) for name in ("account_id", "secret_sha256", "created_at")})
        .returning(SQLModel.metadata.tables["access_token"].c.id)
    ),
    "name": update(SQLModel.metadata.tables["account"]).values(name=bindparam("name")),
}


def test_rows_come_with_the_values_that_their_columns_say(database: Database) -> None:
    with database.reader.connect() as connection:
        usual = [tuple(row) for row in connection.execute(FOUND, {"email": OWNER})]
        found = Prepared(FOUND)
        assert found.rows(connection, {"email": OWNER}) == usual == [(1, START, True, "owner")]
        assert found.rows(connection, {"email": "nobody"}) == []


def test_what_is_written_goes_in_as_its_columns_say(database: Database) -> None:
    at = datetime(2027, 1, 1, 12, tzinfo=UTC)
    with database.writer.begin() as connection:
        values = {"account_id": 1, "secret_sha256": "a", "created_at": at}
        ((number,),) = Prepared(WRITTEN["token"]).rows(connection, values)
        assert Prepared(WRITTEN["name"]).rows(connection, {"name": "Ottilie"}) == []
    token = SQLModel.metadata.tables["access_token"].c
    with database.reader.connect() as connection:
        assert connection.execute(select(token.created_at).where(token.id == number)).scalar_one() == at
        assert set(connection.execute(select(ACCOUNT.name)).scalars()) == {"Ottilie"}


def test_a_fault_is_raised_as_elsewhere_and_whoever_listens_hears_it(database: Database) -> None:
    heard: list[str] = []

    def hear(_connection: Any, _cursor: Any, statement: str, *_rest: Any) -> None:
        heard.append(statement.split(maxsplit=1)[0])

    event.listen(database.writer, "before_cursor_execute", hear)
    values = {"account_id": 1, "secret_sha256": None, "created_at": START}
    with database.writer.connect() as connection:
        connection.begin()
        heard.clear()
        with pytest.raises(IntegrityError):
            Prepared(WRITTEN["token"]).rows(connection, values)
    event.remove(database.writer, "before_cursor_execute", hear)
    assert heard == ["INSERT"]
