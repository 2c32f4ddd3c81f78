"""Migrating loses no row: every table holds some, and holds the same after going down and up again."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from alembic import command
from sqlalchemy import create_engine, text
from sqlmodel import SQLModel, select

from service.records.db import Writing, alembic_config, migrate, open_database
from service.records.photo_store import FolderStore
from service.records.tables import (
    AccessToken,
    Account,
    CalendarLink,
    Erasure,
    KeptResult,
    LoginSession,
    LookedAt,
    Studio,
)
from service.records.tables.doors import KnownBrowser, RecoveryCode, SecondStep, SignInTry, WayIn
from service.studio.demo import fill_or_refresh
from service.studio.proofs import prove
from service.studio.restoring import pour

AT = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


def _rows(url: str) -> dict[str, list[tuple[Any, ...]]]:
    engine = create_engine(url)
    with engine.connect() as connection:
        found = {
            name: [tuple(row) for row in connection.execute(text(f'select * from "{name}" order by id'))]
            for name in SQLModel.metadata.tables
        }
    engine.dispose()
    return found


def _add_ways_in(db: Writing, account_id: int) -> None:
    later = AT + timedelta(1)
    db.add(SecondStep(account_id=account_id, secret="d", created_at=AT, confirmed_at=AT, last_counter=1))
    db.add(RecoveryCode(account_id=account_id, code_sha256="e", created_at=AT))
    db.add(WayIn(account_id=account_id, kind="reset", secret_sha256="f", created_at=AT, ends_at=later))
    db.add(KnownBrowser(account_id=account_id, secret_sha256="g", created_at=AT, ends_at=later))
    db.add(SignInTry(key_sha256="h", tries=3, last_at=AT))


@pytest.fixture(scope="module")
def full_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite file with rows in every table, filled once and poured from there."""
    folder = tmp_path_factory.mktemp("full")
    url = f"sqlite:///{folder / 'studio.sqlite'}"
    migrate(url)
    database = open_database(url)
    fill_or_refresh(database, "linen and patience", 0, AT, FolderStore(folder / "photos"))
    with database.writing() as db:
        account = db.exec(select(Account)).first()
        assert account is not None
        assert account.id is not None
        db.add(
            LoginSession(
                account_id=account.id, secret_sha256="a", created_at=AT, last_seen_at=AT, ends_at=AT + timedelta(1)
            )
        )
        db.add(LookedAt(account_id=account.id, at=AT))
        db.add(KeptResult(garment_id=1, route="tucks", asked="{}", answer="{}", at=AT))
        db.add(Erasure(client_id=1, account_id=account.id, at=AT))
        db.add(CalendarLink(account_id=account.id, secret_sha256="c", created_at=AT))
        db.add(AccessToken(account_id=account.id, secret_sha256="b", created_at=AT))
        _add_ways_in(db, account.id)
    database.close()
    return folder / "studio.sqlite"


@pytest.fixture
def full_url(full_file: Path, bare_url: str) -> str:
    """A database of each kind with rows in every table."""
    pour(f"sqlite:///{full_file}", bare_url)
    return bare_url


def test_migrating_again_leaves_every_row_as_it_was(full_url: str) -> None:
    before = _rows(full_url)
    assert [name for name, rows in before.items() if not rows] == [], "fill these tables in the demo or in the fixture"
    migrate(full_url)
    assert _rows(full_url) == before
    database = open_database(full_url)
    with database.reading() as db:
        assert prove(db).faults == ()
        assert db.exec(select(Studio.is_demo)).one()
    database.close()


def test_going_down_to_nothing_and_up_again_gives_the_same_tables(full_url: str) -> None:
    command.downgrade(alembic_config(full_url), "base")
    migrate(full_url)
    command.check(alembic_config(full_url))
    assert set(_rows(full_url)) == set(SQLModel.metadata.tables)
