"""A server whose clock is set back: counts keep their order and their sums, and nobody stays signed in for longer."""

from datetime import timedelta

from sqlmodel import col, select

from service.records.db import Database
from service.records.tables import LoginSession, Tally
from service.studio.proofs import prove
from service.studio.sign_in import begin_session, person_of_session
from tests.building import a_garment
from tests.counting import count, number, person, step, work_on
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
