"""Taking a wrong entry back, and unpicking: what is lowered, what is kept, what later work forbids."""

from decimal import Decimal

import pytest
from sqlmodel import col, select

from service.errors import Conflict, NotFound
from service.records.db import Database
from service.records.tables import Tally
from service.studio.log import take_back
from tests.counting import a_bib, ask, count, number, person, refused_unchanged, step, work_on
from tests.serving import OWNER, START


def test_a_wrong_entry_is_taken_back_whole_with_its_minutes_and_once(database: Database) -> None:
    with database.writing() as db:
        garment_id, owner = a_bib(db), person(db, OWNER)
        work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
        knots = step(db, garment_id, "ladder_knot")
        count(db, owner, knots, 12, minutes=Decimal(100) / 60)
        wrong = db.exec(select(Tally).where(Tally.step_id == knots.id)).one()
        count(db, owner, knots, 5)
        assert take_back(db, owner, number(wrong), "back", START).done == 5
        assert take_back(db, owner, number(wrong), "back", START).done == 5
        counter = db.exec(select(Tally).where(Tally.kind == "counter")).one()
        assert (counter.counted_tenths, counter.seconds, counter.counters_id) == (120, 100, wrong.id)
        with pytest.raises(Conflict, match=r"^That entry was taken back already\.$"):
            take_back(db, owner, number(wrong), "back once more", START)
        with pytest.raises(NotFound, match=r"^There is no such entry to take back\.$"):
            take_back(db, owner, number(counter), "back and forth", START)


def test_an_entry_is_named_only_whole_and_on_its_own_step(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment_id, owner = a_bib(db), person(db, OWNER)
        block, wash = step(db, garment_id, "cut_block"), step(db, garment_id, "wash")
        count(db, owner, block, 1)
        entry = number(db.exec(select(Tally)).one())
        for at_step, said in ((wash, {"kind": "counter"}), (block, {"kind": "work"}), (block, {"kind": "unpick"})):
            refusal = refused_unchanged(db, OWNER, number(at_step), ask(1, counters_id=entry, **said))
            assert refusal.sentence == "counters_id: Only a counter names an entry, and only one of work on this step."
        count(db, owner, wash, 1)
        work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
        knots = step(db, garment_id, "ladder_knot")
        count(db, owner, knots, 12)
        entry = number(db.exec(select(Tally).where(Tally.step_id == knots.id)).one())
        refusal = refused_unchanged(db, OWNER, number(knots), ask(3, counters_id=entry, kind="counter"))
        assert refusal.sentence == "counters_id: Take an entry back whole."


def test_unpicking_lowers_what_is_done_and_keeps_all_minutes(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment_id, owner = a_bib(db), person(db, OWNER)
        work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
        knots = step(db, garment_id, "ladder_knot")
        count(db, owner, knots, 30, minutes=Decimal(15))
        assert count(db, owner, knots, 8, kind="unpick", minutes=Decimal(4), reason="caught a wrong thread").done == 22
        rows = db.exec(select(Tally).where(Tally.step_id == knots.id).order_by(col(Tally.id))).all()
        assert [(row.kind, row.seconds, row.reason) for row in rows] == [
            ("work", 900, ""),
            ("unpick", 240, "caught a wrong thread"),
        ]


def test_no_more_is_taken_back_than_is_done(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment_id, owner = a_bib(db), person(db, OWNER)
        work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
        knots = step(db, garment_id, "ladder_knot")
        count(db, owner, knots, 5)
        for kind, act in (("counter", "taken back"), ("unpick", "unpicked")):
            refusal = refused_unchanged(db, OWNER, number(knots), ask(6, kind=kind))
            assert refusal.sentence == f"Only 5 are done, so no more than that can be {act}."


def test_nothing_is_taken_back_that_later_work_rests_on(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment_id, owner = a_bib(db), person(db, OWNER)
        work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
        count(db, owner, step(db, garment_id, "ladder_knot"), 1)
        refusal = refused_unchanged(db, OWNER, number(step(db, garment_id, "withdraw")), ask(1, kind="counter"))
        assert refusal.sentence == "The knotting has begun and rests on this withdrawing, which must stay complete."
