"""The owner's own guesses: what they time afresh, what they leave alone, and that the log still overrules them."""

from datetime import timedelta

from sqlmodel import select

from service.reckoning.guesses import STATED
from service.records.db import Database, Writing
from service.records.tables import Event, Garment, RateGuess, Step
from service.studio.guesses import guesses_of, own_guesses, set_guesses
from service.studio.proofs import prove
from service.studio.rates import Learning
from service.studio.recount import Recount, recount_section
from service.studio.standing import finish
from tests.building import a_garment
from tests.counting import number, person, step, work_on
from tests.serving import OWNER, START

DOUBLE = {"ladder_knot": 40_000}


def unit_ms(db: Writing, garment_id: int, operation: str) -> int:
    return db.exec(select(Step.unit_ms).where(Step.garment_id == garment_id, Step.operation == operation)).first() or 0


def test_a_studio_starts_from_the_stated_guesses(database: Database) -> None:
    with database.reading() as db:
        assert own_guesses(db) == {}
        assert guesses_of(db) == STATED


def test_a_guess_times_new_and_open_garments_and_check_still_proves_their_summaries(database: Database) -> None:
    with database.writing() as db:
        owner, garment_id = person(db, OWNER), number(a_garment(db, "bib"))
        before, garment = unit_ms(db, garment_id, "ladder_knot"), db.get_one(Garment, garment_id)
        left_ms, knots = garment.left_ms, step(db, garment_id, "ladder_knot").quantity_tenths
        ladders = db.exec(select(Step).where(Step.garment_id == garment_id, Step.operation == "ladder_knot")).all()
        set_guesses(db, DOUBLE, owner.id, START)
        assert unit_ms(db, garment_id, "ladder_knot") == 2 * before
        more = sum((each.quantity_tenths * before + 5) // 10 for each in ladders)
        assert knots
        assert garment.left_ms == left_ms + more
        another = number(a_garment(db, "bib"))
        assert unit_ms(db, another, "ladder_knot") == 2 * before
        assert db.get_one(Garment, another).planned_ms == garment.planned_ms
    with database.reading() as db:
        assert prove(db).faults == ()


def test_a_guess_leaves_finished_garments_as_they_were_planned(database: Database) -> None:
    with database.writing() as db:
        owner, garment_id = person(db, OWNER), number(a_garment(db, "bib"))
        work_on(db, owner, garment_id, lambda _: False)
        finish(db, garment_id, owner.id, START)
        before = unit_ms(db, garment_id, "ladder_knot")
        set_guesses(db, DOUBLE, owner.id, START)
        assert unit_ms(db, garment_id, "ladder_knot") == before


def test_back_to_the_starting_guess_times_everything_as_it_was(database: Database) -> None:
    with database.writing() as db:
        owner, garment_id = person(db, OWNER), number(a_garment(db, "bib"))
        before = db.get_one(Garment, garment_id).planned_ms
        set_guesses(db, DOUBLE, owner.id, START)
        set_guesses(db, {"ladder_knot": None}, owner.id, START)
        assert guesses_of(db) == STATED
        assert db.get_one(Garment, garment_id).planned_ms == before
        said = db.exec(select(Event.before, Event.after).where(Event.object_kind == "rate_guess")).all()
        assert [tuple(each) for each in said] == [
            ("ladder_knot 20 s", "ladder_knot 40 s"),
            ("ladder_knot 40 s", "ladder_knot 20 s"),
        ]


def test_what_stays_as_it_was_is_not_written_down(database: Database) -> None:
    with database.writing() as db:
        owner = person(db, OWNER)
        assert set_guesses(db, {"ladder_knot": None, "clip": 3000}, owner.id, START) == ()
        set_guesses(db, DOUBLE, owner.id, START)
        assert set_guesses(db, DOUBLE, owner.id, START) == ()
        assert len(db.exec(select(RateGuess)).all()) == 1


def test_a_guess_set_later_was_not_what_was_foreseen_before(database: Database) -> None:
    with database.writing() as db:
        set_guesses(db, DOUBLE, person(db, OWNER).id, START)
        day = START.date()
        assert guesses_of(db, day)["ladder_knot"] == 20
        assert guesses_of(db, day + timedelta(1))["ladder_knot"] == 40


def test_hours_left_follow_a_guess_at_once_while_nothing_is_logged(database: Database) -> None:
    learning = Learning()
    with database.writing() as db:
        garment_id = number(a_garment(db, "bib"))
    with database.reading() as db:
        before = learning.hours_left(db, [garment_id])[garment_id]
    with database.writing() as db:
        set_guesses(db, dict.fromkeys(STATED, None) | DOUBLE, person(db, OWNER).id, START)
    with database.reading() as db:
        assert learning.is_behind(db)
        learning.exact(db)
        after = learning.hours_left(db, [garment_id])[garment_id]
    assert 1 < after.at(50) / before.at(50) < 2


def test_a_recount_is_timed_by_the_owners_guess(database: Database) -> None:
    with database.writing() as db:
        owner, garment_id = person(db, OWNER), number(a_garment(db, "bib"))
        set_guesses(db, DOUBLE, owner.id, START)
        knots = step(db, garment_id, "ladder_knot")
        before, section = knots.unit_ms, knots.section_id
        assert section is not None
        recount_section(db, owner, section, Recount("counted at the table", standing_threads=200), START)
        assert step(db, garment_id, "ladder_knot").unit_ms == before
