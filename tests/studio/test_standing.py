"""Where a garment stands: its summary, what is left by part, and its states."""

from datetime import date, timedelta

import pytest
from sqlmodel import col, select

from service.errors import Conflict, NotFound, Refusal, Unreadable
from service.records.db import Database, Writing
from service.records.queries.garments import parts_of
from service.records.tables import Event, Garment, Panel, Section, Step, Studio
from service.studio import standing
from service.studio.left import Units, left_by, left_of_commission
from service.studio.making import MakingAsk, make_garment
from tests.building import a_cloth, a_commission, a_design, a_garment
from tests.counting import all_rows, count, number, person, step, work_on
from tests.serving import OWNER, START

LATER = START + timedelta(days=30)


def _done(db: Writing, key: str = "bib") -> Garment:
    garment = a_garment(db, key)
    work_on(db, person(db, OWNER), number(garment), lambda _: False)
    return garment


def test_the_next_step_is_the_first_one_that_may_be_worked_on(database: Database) -> None:
    with database.writing() as db:
        garment_id, owner = number(a_garment(db, "bib")), person(db, OWNER)
        seen = []
        for _ in range(8):
            row = db.get_one(Step, db.get_one(Garment, garment_id).next_step_id)
            seen.append(row.operation)
            count(db, owner, row, row.quantity_tenths / 10)
        assert seen == ["cut_block", "wash", "press", "trace", "mark", "edge_stitch", "clip", "withdraw"]


def test_a_step_left_out_comes_next_until_it_is_done(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment_id, owner = number(a_garment(db, "bib")), person(db, OWNER)
        count(db, owner, step(db, garment_id, "cut_block"), 1)
        count(db, owner, step(db, garment_id, "press"), 1)
        assert db.get_one(Garment, garment_id).next_step_id == step(db, garment_id, "wash").id


def test_the_day_to_begin_lies_as_many_days_ahead_as_the_work_takes(sqlite_database: Database) -> None:
    """At 90 minutes a day: the days are the hours left, rounded up to whole days."""
    with sqlite_database.writing() as db:
        garment = a_garment(db, "bib")
        days = -(-garment.left_ms // (90 * 60_000))
        assert garment.start_by == date(2027, 5, 16) - timedelta(days=days)
        db.get_one(Studio, 1).usual_minutes_a_day = 30
        db.flush()
        standing.resummarise_open(db)
        assert garment.start_by == date(2027, 5, 16) - timedelta(days=-(-garment.left_ms // (30 * 60_000)))


def test_another_day_moves_the_day_to_begin(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment = a_garment(db, "bib")
        before = garment.start_by
        standing.wish_for(db, number(garment), date(2027, 6, 16))
        assert (garment.wanted_on, garment.start_by - before) == (date(2027, 6, 16), timedelta(days=31))


def test_what_is_left_adds_up_by_step_section_panel_and_garment(database: Database) -> None:
    with database.writing() as db:
        garment_id, owner = number(a_garment(db, "bonnet")), person(db, OWNER)
        work_on(db, owner, garment_id, lambda row: row.operation == "hem_knot")
        count(db, owner, step(db, garment_id, "hem_knot"), 63)
        found = left_by(parts_of(db, garment_id))
        garment = db.get_one(Garment, garment_id)
        assert (found.garment.planned_ms, found.garment.left_ms) == (garment.planned_ms, garment.left_ms)
        assert sum(part.left_ms for part in found.steps.values()) == garment.left_ms
        assert sum(part.left_ms for part in found.panels.values()) + found.joined.left_ms == garment.left_ms
        hem = found.sections[number(db.exec(select(Section).where(Section.key == "brim.hem")).one())]
        knots = next(units for units in hem.units if units.operation == "hem_knot")
        assert (knots.planned_tenths, knots.left_tenths) == (1630, 1000)
        assert hem.left_ms == sum(units.left_ms for units in hem.units)
        crown = found.panels[number(db.exec(select(Panel).where(Panel.key == "crown")).one())]
        assert [units.operation for units in crown.units] == [
            "cut_block", "wash", "press", "trace", "embroider", "retrace", "cut_out",
        ]  # fmt: skip
        assert [units.operation for units in found.joined.units] == [
            "seam", "lace", "cut_bias", "stitch_bias", "whip_bias", "closure",
        ]  # fmt: skip


def test_the_done_fraction_goes_by_hours_and_not_by_steps(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment_id, owner = number(a_garment(db, "bib")), person(db, OWNER)
        block = step(db, garment_id, "cut_block")
        count(db, owner, block, 1)
        found = left_by(parts_of(db, garment_id))
        assert found.garment.done_fraction == pytest.approx(420_000 / found.garment.planned_ms)
        assert found.steps[number(block)].done_fraction == 1.0
        assert found.steps[number(block)].units == (Units("cut_block", "panel", 10, 0, 0),)


def test_what_is_left_of_a_commission_counts_its_garments_without_those_called_off(database: Database) -> None:
    with database.writing() as db:
        commission, design, cloth = number(a_commission(db)), number(a_design(db, "bib")), number(a_cloth(db))
        wanted = MakingAsk(commission, design, {"bib": cloth, "binding": cloth})
        first, second, third = (make_garment(db, wanted, START) for _ in range(3))
        a_garment(db, "bib")
        work_on(db, person(db, OWNER), number(second), lambda _: False)
        standing.call_off(db, number(third), "twins after all were one", person(db, OWNER).id, START)
        whole, each = left_of_commission(db, commission)
        assert set(each) == {first.id, second.id}
        assert (whole.left_ms, whole.planned_ms) == (first.left_ms, first.planned_ms + second.planned_ms)
        assert whole.done_fraction == pytest.approx(0.5)
        assert left_of_commission(db, 999)[0].done_fraction == 0.0


def test_a_garment_is_finished_delivered_and_then_left_alone(database: Database) -> None:
    with database.writing() as db:
        garment, who = _done(db), person(db, OWNER).id
        standing.finish(db, number(garment), who, LATER)
        assert (garment.state, garment.finished_at) == ("finished", LATER)
        standing.deliver(db, number(garment), who, LATER)
        assert (garment.state, garment.delivered_at) == ("delivered", LATER)
        assert db.exec(select(Event.action).where(Event.object_kind == "garment").order_by(col(Event.id))).all() == [
            "finished",
            "delivered",
        ]
        before = all_rows(db)
        with pytest.raises(Conflict, match="delivered"):
            standing.finish(db, number(garment), who, LATER)
        with pytest.raises(Conflict, match="delivered"):
            standing.deliver(db, number(garment), who, LATER)
        with pytest.raises(Conflict, match="delivered"):
            standing.call_off(db, number(garment), "too late", who, LATER)
        with pytest.raises(Conflict, match="delivered"):
            standing.reopen(db, number(garment), "too late", who, LATER)
        assert all_rows(db) == before


def test_a_garment_with_work_left_is_not_finished(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment, owner = _done(db), person(db, OWNER)
        count(db, owner, step(db, number(garment), "closure"), 1, kind="unpick")
        with pytest.raises(Conflict, match="There is work left on this garment"):
            standing.finish(db, number(garment), owner.id, LATER)
        assert garment.state == "in work"


def test_only_a_finished_garment_is_delivered(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment = _done(db)
        with pytest.raises(Conflict, match=r"^Only a finished garment is delivered; this one is in work\.$"):
            standing.deliver(db, number(garment), person(db, OWNER).id, LATER)


def test_a_garment_called_off_keeps_its_reason_and_is_taken_up_again(database: Database) -> None:
    with database.writing() as db:
        garment, who = a_garment(db, "bib"), person(db, OWNER).id
        standing.call_off(db, number(garment), "The family moved away", who, START)
        assert (garment.state, garment.called_off_at) == ("called off", START)
        db.get_one(Studio, 1).usual_minutes_a_day = 30
        standing.reopen(db, number(garment), "They came back", who, LATER)
        assert (garment.state, garment.called_off_at) == ("planned", None)
        assert garment.start_by == standing.start_by(garment.wanted_on, garment.left_ms, 30)
        told = select(Event.action, Event.reason).where(Event.object_kind == "garment")
        kept = db.exec(told.order_by(col(Event.id))).all()
        assert kept == [("called off", "The family moved away"), ("taken up again", "They came back")]


def test_a_finished_garment_taken_up_again_is_in_work(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment, who = _done(db), person(db, OWNER).id
        standing.finish(db, number(garment), who, START)
        standing.reopen(db, number(garment), "A button is loose", who, LATER)
        assert (garment.state, garment.finished_at) == ("in work", None)


@pytest.mark.parametrize("reason", ["", "  "])
def test_calling_off_and_taking_up_again_want_a_reason(sqlite_database: Database, reason: str) -> None:
    with sqlite_database.writing() as db:
        garment, who = a_garment(db, "bib"), person(db, OWNER).id
        with pytest.raises(Unreadable, match="reason: Say why, in a few words"):
            standing.call_off(db, number(garment), reason, who, START)
        standing.call_off(db, number(garment), "moved", who, START)
        with pytest.raises(Unreadable, match="reason: Say why, in a few words"):
            standing.reopen(db, number(garment), reason, who, START)
        assert garment.state == "called off"


def test_a_garment_in_work_is_not_taken_up_again(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment = a_garment(db, "bib")
        with pytest.raises(Conflict, match=r"^A garment that is planned cannot be taken up again\.$"):
            standing.reopen(db, number(garment), "why not", person(db, OWNER).id, START)


def test_an_unknown_garment_is_not_found(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        for act in (standing.finish, standing.deliver):
            with pytest.raises(Refusal) as refused:
                act(db, 999, 1, START)
            assert isinstance(refused.value, NotFound)
        with pytest.raises(NotFound):
            standing.resummarise(db, 999)
