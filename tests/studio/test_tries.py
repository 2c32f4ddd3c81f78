"""Waits between tries: never more than ten in ten minutes, never a lock, nor a way round by sending many at once."""

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest
from sqlmodel import select

from service.records.db import Database
from service.records.tables import SignInTry
from service.studio.tries import QUIET, Counted, count, forgive, wait_after
from tests.serving import START

NAME = Counted("name", "ottilie@studio.example")


def test_whoever_tries_as_soon_as_she_may_has_ten_tries_in_any_ten_minutes() -> None:
    moments, at = [], 0
    for tries in range(100):
        at += wait_after(tries).seconds
        moments.append(at)
    assert max(sum(one <= each < one + 600 for each in moments) for one in moments) == 10
    assert max(wait_after(tries) for tries in range(1000)) == timedelta(minutes=5)  # and nobody is locked out


def test_a_try_that_comes_too_early_is_told_how_long_to_wait_and_is_not_counted(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        assert [count(db, [NAME], START).seconds for _ in range(6)] == [0, 0, 0, 0, 0, 15]
        assert count(db, [NAME], START + timedelta(seconds=5)) == timedelta(seconds=10)
        assert count(db, [NAME], START + timedelta(seconds=15)) == timedelta()
        assert count(db, [NAME], START + timedelta(seconds=15)) == timedelta(seconds=30)
        assert count(db, [Counted("name", "wren@studio.example")], START) == timedelta()


def test_a_quiet_quarter_of_an_hour_begins_anew_and_a_clock_set_back_makes_nobody_wait_longer(
    sqlite_database: Database,
) -> None:
    with sqlite_database.writing() as db:
        for _ in range(5):
            count(db, [NAME], START)
        assert count(db, [NAME], START - timedelta(days=300)) == timedelta(seconds=15)
        assert count(db, [NAME], START + QUIET) == timedelta()
        assert db.exec(select(SignInTry.tries)).one() == 1


def test_a_right_one_forgets_the_name_and_this_try_of_the_address(sqlite_database: Database) -> None:
    address = Counted("address", "192.0.2.7", 30)
    with sqlite_database.writing() as db:
        for _ in range(3):
            count(db, [NAME, address], START)
        forgive(db, [NAME], [address])
        left = {row.key_sha256: row.tries for row in db.exec(select(SignInTry))}
    assert left == {address.key: 2}


def test_what_was_tried_is_kept_as_a_digest_and_forgotten_after_a_day(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        count(db, [NAME], START)
        assert "ottilie" not in str(db.exec(select(SignInTry)).one())
        count(db, [Counted("name", "nan@studio.example")], START + timedelta(days=2))
        assert [row.key_sha256 for row in db.exec(select(SignInTry))] == [Counted("name", "nan@studio.example").key]


@pytest.mark.parametrize("known_before", [True, False], ids=["tried before", "never tried"])
def test_many_at_once_get_no_more_tries_than_one_after_the_other(database: Database, *, known_before: bool) -> None:
    if known_before:
        with database.writing() as db:
            count(db, [NAME], START)

    def try_it(_place: int) -> bool:
        with database.writing() as db:
            return count(db, [NAME], START) == timedelta()

    with ThreadPoolExecutor(8) as pool:
        taken = sum(pool.map(try_it, range(16)))
    assert taken + known_before == 5


@pytest.mark.parametrize("kind", ["postgresql"], indirect=True)
def test_what_others_counted_while_it_waited_is_not_lost(database: Database) -> None:
    """Only PostgreSQL lets two write at once: what the second has read before it holds the row is read anew."""
    address = Counted("address", "192.0.2.7", 30)
    with database.writing() as db:
        count(db, [NAME, address], START)
    with database.writing() as late:
        before = late.exec(select(SignInTry)).all()
        with database.writing() as db:
            count(db, [NAME, address], START)
        forgive(late, [NAME], [address])
        assert len(before) == 2
    with database.reading() as db:
        assert {row.key_sha256: row.tries for row in db.exec(select(SignInTry))} == {address.key: 1}
