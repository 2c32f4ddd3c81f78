"""A database that would forget what it answered is not served, and the check tells of it."""

from pathlib import Path

import pytest

from service.cli import main
from service.errors import Conflict
from service.loading import ready_database
from service.records.db import open_database
from service.records.durable import forgetful, told
from service.settings import Settings
from tests.databases import make_database, say


def test_sqlite_syncs_each_commit_unless_its_file_is_opened_otherwise(tmp_path: Path) -> None:
    database = ready_database(Settings(data=tmp_path))
    assert forgetful(database) == ()
    with database.writer.connect() as connection:
        connection.exec_driver_sql("ROLLBACK")
        connection.exec_driver_sql("PRAGMA synchronous=NORMAL")
    assert forgetful(database) == ("synchronous = 1",)
    database.close()


def test_postgresql_that_does_not_wait_for_the_disk_is_not_served(
    postgresql_server: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    url = make_database(postgresql_server, "forgetful")
    settings = Settings(data=tmp_path, database_url=url)
    ready_database(settings).close()
    say(url, "ALTER DATABASE forgetful SET synchronous_commit = off")
    database = open_database(url)
    assert forgetful(database)[0] == "synchronous_commit = off"
    database.close()
    with pytest.raises(Conflict, match="synchronous_commit = off"):
        ready_database(settings)
    monkeypatch.setenv("DATABASE_URL", url)
    assert main(["check", "--data", str(tmp_path)]) == 1
    assert told("synchronous_commit = off") in capsys.readouterr().out
