"""Migrating loses no row: every table holds some, and holds the same after going down and up again."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from alembic import command
from alembic.script import ScriptDirectory
from sqlalchemy import create_engine, inspect, text
from sqlmodel import SQLModel, select

from service.records.db import Writing, alembic_config, migrate, open_database
from service.records.photo_store import FolderStore
from service.records.tables import (
    AccessToken,
    Account,
    CalendarLink,
    Commission,
    Erasure,
    KeptResult,
    LoginSession,
    LookedAt,
    Quote,
    Studio,
)
from service.records.tables.doors import KnownBrowser, RecoveryCode, SecondStep, SignInTry, WayIn
from service.studio.demo import fill_or_refresh
from service.studio.proofs import prove
from service.studio.quote_seal import SAID_SINCE, seal_of
from service.studio.restoring import pour

Held = dict[str, tuple[list[str], list[tuple[Any, ...]]]]
"""The columns and the rows of each table."""
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


def _quoted(columns: list[str]) -> str:
    return ", ".join(f'"{column}"' for column in columns)


def _held(url: str, only: dict[str, list[str]] | None = None) -> Held:
    """The columns and rows of every table there is, or of those columns of them that are named."""
    engine = create_engine(url)
    with engine.connect() as connection:
        found = {}
        for name in sorted(set(inspect(connection).get_table_names()) - {"alembic_version"}):
            columns = sorted(column["name"] for column in inspect(connection).get_columns(name))
            shown = columns if only is None else [column for column in columns if column in only.get(name, [])]
            if shown:
                rows = connection.execute(text(f'select {_quoted(shown)} from "{name}" order by id'))
                found[name] = shown, [tuple(row) for row in rows]
    engine.dispose()
    return found


def test_going_down_one_revision_after_the_other_and_up_again_keeps_every_row(full_url: str) -> None:
    """On each stair every table of that revision holds what it held, in the columns that it has there."""
    config = alembic_config(full_url)
    revisions = [script.revision for script in ScriptDirectory.from_config(config).walk_revisions()]
    before = _held(full_url)
    for revision in revisions[1:]:
        command.downgrade(config, revision)
        there = _held(full_url)
        assert there == _projected(before, there), revision
    lowest = {name: columns for name, (columns, _) in there.items()}
    for revision in reversed(revisions[:-1]):
        command.upgrade(config, revision)
        assert _held(full_url, lowest) == there, revision
    command.check(config)
    assert len(there["tally"][1]) > 0
    command.downgrade(config, "base")
    migrate(full_url)
    command.check(config)
    assert set(_rows(full_url)) == set(SQLModel.metadata.tables)


def test_quotes_sealed_before_they_kept_their_day_take_their_commission_s_and_hold(full_url: str) -> None:
    database = open_database(full_url)
    with database.writing() as db:
        for quote in db.exec(select(Quote).where(Quote.sealed_sha256 != "")):
            quote.sealed_sha256 = seal_of(db, quote, SAID_SINCE)
    database.close()
    command.downgrade(alembic_config(full_url), "0005")
    migrate(full_url)
    database = open_database(full_url)
    with database.reading() as db:
        quotes = db.exec(select(Quote, Commission).join(Commission).where(Quote.sealed_sha256 != "")).all()
        said = [(quote.wanted_on, quote.title, quote.occasion) for quote, _ in quotes]
        assert said == [(commission.wanted_on, commission.title, commission.occasion) for _, commission in quotes]
        assert {quote.made_by.startswith(f"{quote.studio_name}, ") for quote, _ in quotes} == {True}
        assert [fault for fault in prove(db).faults if "seal" in fault] == []
    database.close()


def _projected(before: Held, there: Held) -> Held:
    """What was held before, in the tables and columns that are there."""
    found = {}
    for name, (columns, _) in there.items():
        had, rows = before[name]
        places = [had.index(column) for column in columns]
        found[name] = columns, [tuple(row[place] for place in places) for row in rows]
    return found
