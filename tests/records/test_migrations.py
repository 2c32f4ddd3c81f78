"""The tables as migrated are the tables as written, on both kinds of database."""

import pytest
from alembic import command
from alembic.script import ScriptDirectory
from sqlalchemy import create_engine, inspect
from sqlmodel import SQLModel

from service.records import tables
from service.records.db import alembic_config, migrate
from service.records.snapshot import newest_revision


def test_migrating_from_nothing_makes_every_table(bare_url: str) -> None:
    migrate(bare_url)
    engine = create_engine(bare_url)
    assert set(inspect(engine).get_table_names()) == set(SQLModel.metadata.tables) | {"alembic_version"}
    assert len(SQLModel.metadata.tables) == len(tables.__all__)
    engine.dispose()


def test_migrated_tables_do_not_drift_from_the_written_ones(bare_url: str) -> None:
    migrate(bare_url)
    command.check(alembic_config(bare_url))


def test_the_newest_revision_as_it_is_read_plainly_is_the_one_that_would_be_migrated_to() -> None:
    scripts = ScriptDirectory.from_config(alembic_config(""))
    assert newest_revision() == scripts.get_current_head()


def test_every_constraint_has_a_name(bare_url: str) -> None:
    migrate(bare_url)
    engine = create_engine(bare_url)
    found = inspect(engine)
    for table in SQLModel.metadata.tables:
        assert found.get_pk_constraint(table)["name"] == f"pk_{table}"
        named = [
            *found.get_foreign_keys(table),
            *found.get_unique_constraints(table),
            *found.get_check_constraints(table),
        ]
        assert all(constraint["name"] for constraint in named), table
    engine.dispose()


@pytest.mark.parametrize("table", sorted(SQLModel.metadata.tables))
def test_words_from_closed_lists_are_checked_by_the_database(table: str) -> None:
    checked = {str(c.name) for c in SQLModel.metadata.tables[table].constraints if "ck_" in str(c.name)}
    worded = {"state", "kind", "role", "owner", "system", "direction"} & set(
        SQLModel.metadata.tables[table].columns.keys()
    )
    assert {f"ck_{table}_{column}_word" for column in worded} <= checked
