"""Answers kept while nothing is written: asked once, and anew after any write by anybody."""

from sqlmodel import col, select

from service.records.db import Database, Reading, open_database
from service.records.tables import Studio
from service.records.unchanged import kept_while_unchanged, while_unchanged

ASKED: list[str] = []


@while_unchanged
def name_here(db: Reading, ending: str = "") -> str:
    ASKED.append(ending)
    return db.exec(select(col(Studio.name))).one() + ending


@kept_while_unchanged(2)
def name_of_few(db: Reading, ending: str) -> str:
    return name_here(db, ending)


def _rename(database: Database, name: str) -> None:
    with database.writing() as db:
        studio = db.get_one(Studio, 1)
        studio.name = name
        db.add(studio)


def _names(database: Database, *endings: str) -> list[str]:
    with database.reading() as db:
        return [name_here(db, ending) for ending in endings]


def test_an_answer_is_asked_for_once_while_nothing_is_written(database: Database) -> None:
    _rename(database, "Once")
    ASKED.clear()
    assert _names(database, "", "!") + _names(database, "", "!") == ["Once", "Once!"] * 2
    assert ASKED == ["", "!"]


def test_after_any_write_it_is_asked_for_anew_even_by_another_program(database: Database) -> None:
    _rename(database, "Before")
    assert _names(database, "") == ["Before"]
    _rename(database, "After")
    assert _names(database, "") == ["After"]
    other = open_database(database.url, guest=database.is_sqlite)
    _rename(other, "Elsewhere")
    other.close()
    assert _names(database, "") == ["Elsewhere"]


def test_a_session_that_opened_before_a_write_does_not_keep_its_old_answer_for_later_ones(database: Database) -> None:
    _rename(database, "Old")
    with database.reading() as early:
        assert early.exec(select(col(Studio.name))).one() == "Old"
        _rename(database, "New")
        with database.reading() as late:
            assert name_here(late) == "New"
        assert name_here(early) == "Old"
    assert _names(database, "") == ["New"]


def test_whoever_writes_is_answered_from_what_she_wrote(database: Database) -> None:
    _rename(database, "Kept")
    assert _names(database, "") == ["Kept"]
    with database.writing() as db:
        studio = db.get_one(Studio, 1)
        studio.name = "In hand"
        db.add(studio)
        db.flush()
        assert name_here(Reading(db)) == "In hand"


def test_only_so_many_answers_to_one_query_are_kept_and_others_are_not_forgotten_for_them(database: Database) -> None:
    _rename(database, "Few")
    ASKED.clear()
    with database.reading() as db:
        assert [name_of_few(db, ending) for ending in ("1", "2", "3", "1")] == ["Few1", "Few2", "Few3", "Few1"]
        assert name_here(db, "3") == "Few3"
    assert ASKED == ["1", "2", "3"]
    kept = [len(answers) for answers in database.kept._answers[1].values()]
    assert sorted(kept) == [2, 3]
