"""A server whose clock is set back: counts keep their order and their sums, and nobody stays signed in for longer."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

from sqlmodel import col, select

from service.records.db import Database
from service.records.tables import LoginSession, ShareLink, Studio, Tally, WindowVisit
from service.studio.log import add_tally
from service.studio.needle_time import needle_seconds_today
from service.studio.proofs import prove
from service.studio.sign_in import begin_session, person_of_session
from service.studio.studio_day import studio_day
from service.studio.window import let_in, make_link
from tests.building import a_garment
from tests.counting import ask, count, number, person, step, work_on
from tests.serving import OWNER, START


def test_counts_are_kept_in_the_order_in_which_they_came(database: Database) -> None:
    moments = [START, START - timedelta(hours=1), START - timedelta(days=730), START + timedelta(minutes=1)]
    with database.writing() as db:
        owner, garment_id = person(db, OWNER), number(a_garment(db, "bib"))
        work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
        knots = step(db, garment_id, "ladder_knot")
        for knotted, moment in enumerate(moments, 1):
            count(db, owner, knots, knotted, moment)
        knots_id = number(knots)
    with database.reading() as db:
        kept = db.exec(select(Tally).where(Tally.step_id == knots_id).order_by(col(Tally.id))).all()
        assert [tally.counted_tenths for tally in kept] == [10, 20, 30, 40]
        assert step(db, garment_id, "ladder_knot").done_tenths == 100
        assert prove(db).faults == ()


def test_nobody_stays_signed_in_longer_than_the_session_said_when_it_began(database: Database) -> None:
    with database.writing() as db:
        secret = begin_session(db, person(db, OWNER).id, START)
    with database.reading() as db:
        (session,) = db.exec(select(LoginSession)).all()
        ends = session.ends_at
    with database.reading() as db:
        assert person_of_session(db, secret, START - timedelta(hours=1)) is not None
        assert person_of_session(db, secret, ends + timedelta(seconds=1)) is None
        (session,) = db.exec(select(LoginSession)).all()
        assert session.ends_at == ends


def test_a_visit_let_in_by_a_clock_set_back_ends_no_later_than_its_link(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment = a_garment(db, "bib")
        secret = make_link(db, person(db, OWNER), garment.commission_id, ("Hester", 1), START)
        let_in(db, secret, START + timedelta(hours=23))
        let_in(db, secret, START - timedelta(hours=1))
        link = db.exec(select(ShareLink)).one()
        ends = db.exec(select(WindowVisit.ends_at)).all()
        assert max(ends) <= link.ends_at == START + timedelta(days=1)


def test_the_hour_that_comes_twice_is_one_hour_of_work_after_the_other_on_the_same_day(
    sqlite_database: Database,
) -> None:
    """In London on 25 October 2026 the clock goes from two back to one: half past one is twice, an hour apart."""
    first, second = datetime(2026, 10, 25, 0, 30, tzinfo=UTC), datetime(2026, 10, 25, 1, 30, tzinfo=UTC)
    with sqlite_database.writing() as db:
        db.get_one(Studio, 1).time_zone = "Europe/London"
        owner, garment_id = person(db, OWNER), number(a_garment(db, "bib"))
        work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
        knots = step(db, garment_id, "ladder_knot")
        for counted, moment, minutes in ((3, second, 20), (4, first, 40)):
            said = ask(counted, at=moment, minutes=Decimal(minutes))
            add_tally(db, owner, number(knots), said, second)
        assert studio_day(db, first) == studio_day(db, second) == date(2026, 10, 25)
        assert needle_seconds_today(db, owner.id, second) == 3600
        kept = db.exec(select(Tally).where(Tally.step_id == number(knots)).order_by(col(Tally.id))).all()
        assert [tally.counted_tenths for tally in kept] == [30, 40]
        assert [tally.at for tally in kept] == [second, first]
