"""What if: the plan with one thing changed is the plan that would stand once it is confirmed, and asking keeps nothing."""

from datetime import timedelta

import pytest
from sqlmodel import select

from service.errors import Refusal
from service.reckoning.design_text import read_design
from service.records.db import Database, Writing
from service.records.tables import Design, Garment, Panel, Stitcher
from service.studio.diary import Foreseen
from service.studio.foresight import Foresight
from service.studio.making import draft
from service.studio.more_minutes import MoreAsk, add_more
from service.studio.planned_hands import plan_hands
from service.studio.rates import Learning
from service.studio.stitchers import change_hours
from service.studio.what_ifs import (
    NEW,
    advice,
    changes,
    moves_beside,
    moves_of,
    new_piece,
    tried,
    with_hands,
    with_minutes,
    with_new,
)
from tests.building import a_cloth, a_design, a_garment
from tests.counting import all_rows, number, person, stitcher_id
from tests.serving import OWNER, SECOND, START, STITCHER

TODAY = START.date()
A_DAY = timedelta(days=1)


def late_bonnet(db: Writing) -> int:
    """A bonnet in one stitcher's hands, wanted sooner than she can do it; another has hours too."""
    bonnet = number(a_garment(db, "bonnet"))
    for email in (STITCHER, SECOND):
        change_hours(db, stitcher_id(db, email), (60,) * 7)
    for panel in db.exec(select(Panel).where(Panel.garment_id == bonnet)):
        panel.holder_id = stitcher_id(db, STITCHER)
        db.add(panel)
    db.flush()
    plan = foreseen(db)
    likely = plan.days_of(bonnet).likely
    assert likely is not None
    db.get_one(Garment, bonnet).wanted_on = likely - 4 * A_DAY
    db.flush()
    return bonnet


def foreseen(db: Writing) -> Foreseen:
    return Foresight(Learning()).exact(db, TODAY)


def shown(plan: Foreseen) -> list[object]:
    return [plan.days_of(piece.id) for piece in plan.facts.pieces]


def test_a_part_tried_in_other_hands_gives_the_days_that_planning_it_then_gives(sqlite_database: Database) -> None:
    foresight = Foresight(Learning())
    with sqlite_database.writing() as db:
        bonnet = late_bonnet(db)
        plan, ida = foresight.exact(db, TODAY), stitcher_id(db, SECOND)
        part = next(iter(plan.parts.values()))
        before = all_rows(db)
        after = tried(db, foresight, plan, with_hands(plan, (part, ida)))
        assert all_rows(db) == before
        (change,) = changes(plan, after)
        assert change.before == plan.days_of(bonnet)
        assert (change.after.chance or 0) > (plan.days_of(bonnet).chance or 0)
        plan_hands(db, (bonnet, part.panel_id), ida, person(db, OWNER).id, START)
        assert shown(foresight.exact(db, TODAY)) == shown(after)


def test_minutes_tried_give_the_days_that_writing_them_down_then_gives(sqlite_database: Database) -> None:
    foresight = Foresight(Learning())
    with sqlite_database.writing() as db:
        late_bonnet(db)
        plan = foresight.exact(db, TODAY)
        ask = MoreAsk(stitcher_id(db, STITCHER), TODAY.weekday(), 120, TODAY, TODAY + 20 * A_DAY)
        after = tried(db, foresight, plan, with_minutes(plan, ask))
        assert changes(plan, after)
        add_more(db, ask, person(db, OWNER).id, START)
        assert shown(foresight.exact(db, TODAY)) == shown(after)


def test_moves_come_best_first_and_are_all_that_can_be_made(sqlite_database: Database) -> None:
    foresight = Foresight(Learning())
    with sqlite_database.writing() as db:
        bonnet = late_bonnet(db)
        plan = foresight.exact(db, TODAY)
        moves = moves_of(db, foresight, plan, bonnet)
        chances = [move.days.chance or 0 for move in moves]
        assert chances == sorted(chances, reverse=True)
        assert {(move.part.name, move.to.name) for move in moves} == {
            ("Brim", "Ida Thorne"),
            ("Crown", "Ida Thorne"),
            ("", "Ida Thorne"),
        }
        assert chances[0] > (plan.days_of(bonnet).chance or 0)


def test_two_parts_tried_together_give_the_days_that_planning_both_then_gives(sqlite_database: Database) -> None:
    foresight = Foresight(Learning())
    with sqlite_database.writing() as db:
        shirt = number(a_garment(db, "boys_shirt"))
        for email in (STITCHER, SECOND, OWNER):
            change_hours(db, stitcher_id(db, email), (60,) * 7)
        for panel in db.exec(select(Panel).where(Panel.garment_id == shirt)):
            panel.holder_id = stitcher_id(db, STITCHER)
        plan = foresight.exact(db, TODAY)
        first = moves_of(db, foresight, plan, shirt)[0]
        before = all_rows(db)
        together = moves_beside(db, foresight, plan, first)
        assert all_rows(db) == before
        assert first.part not in [move.part for move in together]
        best = together[0]
        assert best.days.sure is not None
        assert first.days.sure is not None
        assert best.days.sure < first.days.sure
        for move in (first, best):
            plan_hands(db, (shirt, move.part.panel_id), move.to.id, person(db, OWNER).id, START)
        assert foresight.exact(db, TODAY).days_of(shirt) == best.days


def test_a_new_commission_has_a_day_and_moves_only_what_comes_after_it(sqlite_database: Database) -> None:
    foresight = Foresight(Learning())
    with sqlite_database.writing() as db:
        first, later = number(a_garment(db, "bib")), number(a_garment(db, "bib"))
        change_hours(db, stitcher_id(db, STITCHER), (60,) * 7)
        db.get_one(Garment, first).wanted_on = TODAY + 30 * A_DAY
        db.get_one(Garment, later).wanted_on = TODAY + 90 * A_DAY
        design, cloth = number(a_design(db, "bonnet")), number(a_cloth(db))
        plan = foresight.exact(db, TODAY)
        drafted = draft(db, design, _on(db, design, cloth), {})
        before = all_rows(db)
        after = with_new(db, foresight, plan, new_piece(drafted, "Bonnet", TODAY + 60 * A_DAY, None))
        assert all_rows(db) == before
    assert [change.piece.id for change in changes(plan, after)] == [later, NEW]
    assert after.days_of(first) == plan.days_of(first)
    days = after.days_of(NEW)
    assert days.likely is not None
    assert days.chance is not None


def _on(db: Writing, design: int, cloth: int) -> dict[str, int]:
    """One cloth for every role of a design."""
    return {role.role: cloth for role in read_design(db.get_one(Design, design).document).cloths}


def test_a_piece_thought_of_has_the_work_of_the_one_then_made(sqlite_database: Database) -> None:
    foresight = Foresight(Learning())
    with sqlite_database.writing() as db:
        made = a_garment(db, "bonnet")
        change_hours(db, stitcher_id(db, STITCHER), (60,) * 7)
        plan = foresight.exact(db, TODAY)
        cloth = number(a_cloth(db))
        drafted = draft(db, made.design_id, _on(db, made.design_id, cloth), {})
        _, parts = new_piece(drafted, "Bonnet", TODAY, None)
    assert [part.name for part in parts.values()] == [part.name for part in plan.parts.values()]
    for thought, real in zip(parts.values(), plan.parts.values(), strict=True):
        amounts = {(line.operation, line.threads_per_cm): line.quantity for line in thought.lines}
        assert amounts == pytest.approx({(line.operation, line.threads_per_cm): line.quantity for line in real.lines})


def test_the_advice_names_the_fewest_to_put_back_and_only_when_that_saves_others(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        gown = number(a_garment(db, "christening_gown"))
        bibs = [number(a_garment(db, "bib")) for _ in range(3)]
        change_hours(db, stitcher_id(db, STITCHER), (120,) * 7)
        db.get_one(Garment, gown).wanted_on = TODAY + 2 * A_DAY
        for bib in bibs:
            db.get_one(Garment, bib).wanted_on = TODAY + 25 * A_DAY
        db.flush()
        (told,) = advice(foreseen(db))
        assert ([piece.id for piece in told.back], told.others) == ([gown], 3)
        db.get_one(Garment, gown).wanted_on = TODAY + 500 * A_DAY
        db.flush()
        assert advice(foreseen(db)) == []


def test_what_cannot_be_planned_is_refused(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        bonnet = late_bonnet(db)
        owner, ida = person(db, OWNER).id, stitcher_id(db, SECOND)
        for part, to in (((bonnet, 999), ida), ((bonnet, None), 999), ((999, None), ida)):
            with pytest.raises(Refusal):
                plan_hands(db, part, to, owner, START)
        db.get_one(Stitcher, ida).left_on = TODAY
        with pytest.raises(Refusal, match="has left the studio"):
            plan_hands(db, (bonnet, None), ida, owner, START)
        with pytest.raises(Refusal, match="has left the studio"):
            add_more(db, MoreAsk(ida, 1, 60, TODAY, TODAY), owner, START)
        db.get_one(Garment, bonnet).state = "delivered"
        with pytest.raises(Refusal):
            plan_hands(db, (bonnet, None), stitcher_id(db, STITCHER), owner, START)
