"""Clients found by words, on each kind of database."""

from datetime import UTC, datetime

import pytest

from service.records.db import Database
from service.records.queries.people import clients_by_name
from service.records.tables import Client

AT = datetime(2026, 9, 1, tzinfo=UTC)


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("Élodie", ["Élodie Marsh"]),
        (" Élodie ", ["Élodie Marsh"]),
        ("lodie m", ["Élodie Marsh"]),
        ("élodie", ["Élodie Marsh"]),
        ("ELODIE", ["Élodie Marsh"]),
        ("eloide", []),
        ("_", []),
        ("%", []),
    ],
    ids=["as written", "blanks around", "part", "small letters", "no accent", "mistyped", "underscore", "per cent"],
)
def test_a_client_is_found_whatever_the_capitals_and_accents(database: Database, words: str, found: list[str]) -> None:
    with database.writing() as db:
        db.add(Client(name="Élodie Marsh", created_at=AT))
        db.add(Client(name="Wilhelmina Dow", created_at=AT))
    with database.reading() as db:
        assert [row.name for row in clients_by_name(db, words, put_away=False)] == found
