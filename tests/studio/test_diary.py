"""The diary's plan from the records: whose hands, in which order, when, and what it says when nothing can be foreseen."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from sqlalchemy import event
from sqlmodel import select

from service.records.db import Database, Reading, Writing
from service.records.tables import CalendarLink, Garment, Panel, PlannedHands, Stitcher, StitcherAway
from service.studio.diary import Foreseen, job_of
from service.studio.diary_pages import day_pages
from service.studio.foresight import Foresight
from service.studio.more_minutes import MoreAsk, add_more, remove_more
from service.studio.planned_hands import end_plan, plan_hands
from service.studio.proofs import prove
from service.studio.rates import Learning
from service.studio.stitchers import change_hours
from tests.building import a_garment
from tests.counting import count, number, person, step, stitcher_id, work_on
from tests.serving import OWNER, SECOND, START, STITCHER

TODAY = START.date()  # a Tuesday
A_DAY = timedelta(days=1)


def hours(db: Writing, **minutes: int) -> None:
    """So many minutes every day for the owner, the stitcher and the second one."""
    emails = {"owner": OWNER, "wren": STITCHER, "ida": SECOND}
    for name, amount in minutes.items():
        change_hours(db, stitcher_id(db, emails[name]), (amount,) * 7)


def held(db: Writing, garment_id: int, by: int | None, key: str = "") -> None:
    """Put a garment's panels, or one of them, into somebody's hands."""
    for panel in db.exec(select(Panel).where(Panel.garment_id == garment_id)):
        if key in {"", panel.key}:
            panel.holder_id = by
            db.add(panel)
    db.flush()


def foreseen(db: Reading | Writing, today: date = TODAY) -> Foreseen:
    return Foresight(Learning()).exact(db, today)


def panel_id(db: Reading | Writing, garment_id: int, key: str) -> int:
    return number(db.exec(select(Panel).where(Panel.garment_id == garment_id, Panel.key == key)).one())


def hands(plan: Foreseen) -> dict[str, tuple[str, str]]:
    """Who works on what and why, by the names of the parts."""
    found: dict[str, tuple[str, str]] = {}
    for part in plan.parts.values():
        assert part.hands is not None
        found[part.name or "joined"] = (plan.name_of(part.hands.stitcher_id), part.hands.why)
    return found


def test_a_part_is_worked_by_whoever_holds_it_and_joined_work_by_whoever_works_most_panels(database: Database) -> None:
    with database.writing() as db:
        bonnet = number(a_garment(db, "bonnet"))
        hours(db, wren=60, ida=90)
        held(db, bonnet, stitcher_id(db, STITCHER), "brim")
    with database.reading() as db:
        plan = foreseen(db)
    assert hands(plan) == {
        "Brim": ("Wren Hallam", "held"),
        "Crown": ("Ida Thorne", "most hours"),
        "joined": ("Wren Hallam", "most panels"),
    }
    brim, crown, joined = (plan.spans[job] for job in plan.parts)
    assert (joined.days >= brim.days).all()
    assert (joined.days > crown.days).all()  # what another hands over is taken up the day after


def test_planned_hands_count_until_the_part_really_moves_or_the_plan_is_taken_back(database: Database) -> None:
    with database.writing() as db:
        bib, owner = number(a_garment(db, "bib")), person(db, OWNER).id
        hours(db, wren=60, ida=90)
        wren, ida = stitcher_id(db, STITCHER), stitcher_id(db, SECOND)
        held(db, bib, wren)
        panel = number(db.exec(select(Panel).where(Panel.garment_id == bib)).one())
        plan_hands(db, (bib, panel), ida, owner, START)
        first = foreseen(db)
        assert next(iter(hands(first).values())) == ("Ida Thorne", "planned")
        held(db, bib, person(db, OWNER).stitcher_id)
        assert next(iter(hands(foreseen(db)).values())) == ("Ottilie Brook", "held")
        held(db, bib, wren)
        plan = db.exec(select(PlannedHands)).one()
        end_plan(db, number(plan), owner, START)
        assert next(iter(hands(foreseen(db)).values())) == ("Wren Hallam", "held")
    with database.reading() as db:
        assert prove(db).faults == ()


def test_what_is_wanted_first_is_worked_first_and_the_same_person_queues(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        late, soon = number(a_garment(db, "bib")), number(a_garment(db, "bib"))
        db.get_one(Garment, soon).wanted_on = TODAY + 20 * A_DAY
        db.get_one(Garment, late).wanted_on = TODAY + 60 * A_DAY
        db.flush()
        hours(db, wren=60)
        alone = foreseen(db)
        first, second = alone.days_of(soon), alone.days_of(late)
        assert first.likely is not None
        assert second.likely is not None
        assert first.likely < second.likely
        assert first.chance is not None
        assert second.chance is not None
        assert 0.01 <= first.chance <= 0.99


def test_days_away_and_more_minutes_move_the_day(database: Database) -> None:
    with database.writing() as db:
        bib = number(a_garment(db, "bib"))
        hours(db, wren=30)
        wren, owner = stitcher_id(db, STITCHER), person(db, OWNER).id
        usual = foreseen(db).days_of(bib).likely
        more = add_more(db, MoreAsk(wren, 3, 300, TODAY, TODAY + 90 * A_DAY), owner, START)
        sooner = foreseen(db).days_of(bib).likely
        remove_more(db, number(more))
        db.add(StitcherAway(stitcher_id=wren, first_day=TODAY, last_day=TODAY + 9 * A_DAY, note="at the sea"))
        db.flush()
        plan = foreseen(db)
        later = plan.days_of(bib).likely
        assert usual is not None
        assert sooner is not None
        assert sooner < usual
        assert later == usual + 10 * A_DAY
        (page,) = day_pages(plan, TODAY, 1)
        (hers,) = page.people
        assert (hers.is_away, hers.why_away, [piece.id for piece in hers.rests]) == (True, "at the sea", [bib])


def test_work_logged_today_leaves_the_rest_of_today(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        bib = number(a_garment(db, "bib"))
        hours(db, wren=120)
        wren = person(db, STITCHER)
        held(db, bib, wren.stitcher_id)
        before = foreseen(db)
        work_on(db, person(db, OWNER), bib, lambda row: row.operation == "mark")
        count(db, wren, step(db, bib, "mark"), 10, START, minutes=Decimal(100))
        after = foreseen(db)
    expected = [sum(each.left_ms for each in day_pages(plan, TODAY, 1)[0].people) for plan in (before, after)]
    assert expected == [120 * 60_000, 20 * 60_000]


def test_weeks_logged_teach_how_far_her_plans_hold(database: Database) -> None:
    with database.writing() as db:
        bib = number(a_garment(db, "bib"))
        hours(db, wren=60)
        wren = person(db, STITCHER)
        held(db, bib, wren.stitcher_id)
        work_on(db, person(db, OWNER), bib, lambda row: row.operation == "mark")
        for weeks in (1, 2, 3):
            count(db, wren, step(db, bib, "mark"), 2, START - timedelta(weeks=weeks), minutes=Decimal(210))
        plan = foreseen(db)
    learnt = plan.learnt[wren.stitcher_id or 0]
    assert learnt.weeks == 3
    assert 0.5 < learnt.availability.median < 0.9  # half of what was planned, pulled towards the guess


def test_somebody_without_hours_leaves_her_pieces_without_a_day_and_the_others_with_theirs(
    sqlite_database: Database,
) -> None:
    with sqlite_database.writing() as db:
        hers, other = number(a_garment(db, "bib")), number(a_garment(db, "bib"))
        hours(db, wren=60)
        held(db, hers, stitcher_id(db, SECOND))
        plan = foreseen(db)
    assert (
        plan.days_of(hers).why_not == "Ida Thorne has no hours in her week, so the day of what is hers is not foreseen."
    )
    assert plan.days_of(hers).chance is None
    assert plan.days_of(other).likely is not None


def test_nobody_with_hours_is_said_in_one_sentence(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        bib = number(a_garment(db, "bib"))
        plan = foreseen(db)
    assert plan.days_of(bib).why_not == "Nobody has any hours in the week, so nothing is foreseen."
    assert [page.people for page in day_pages(plan, TODAY, 2)] == [(), ()]


def test_what_is_in_the_hands_of_somebody_who_left_is_reckoned_for_another_and_said(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        bib = number(a_garment(db, "bib"))
        hours(db, wren=60, ida=90)
        held(db, bib, stitcher_id(db, SECOND))
        db.get_one(Stitcher, stitcher_id(db, SECOND)).left_on = TODAY - A_DAY
        db.flush()
        plan = foreseen(db)
    assert {name for name, _ in hands(plan).values()} == {"Wren Hallam"}
    (note, *_) = plan.notes
    assert note.startswith("Ida Thorne has left, but ")


@pytest.mark.parametrize(("done", "wanted_in", "chance"), [(True, 5, 0.99), (True, -1, 0.01), (False, -1, 0.01)])
def test_nothing_left_is_done_today_and_a_day_that_is_past_is_not_kept(
    sqlite_database: Database, done: bool, wanted_in: int, chance: float
) -> None:
    with sqlite_database.writing() as db:
        bib = number(a_garment(db, "bib"))
        hours(db, wren=60)
        if done:
            work_on(db, person(db, OWNER), bib, lambda _row: False)
        db.get_one(Garment, bib).wanted_on = TODAY + wanted_in * A_DAY
        db.flush()
        days = foreseen(db).days_of(bib)
    assert days.chance == chance
    assert (days.likely == TODAY) == done


def test_more_work_than_hours_is_said_and_has_the_least_chance(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        gown = number(a_garment(db, "christening_gown"))
        change_hours(db, stitcher_id(db, STITCHER), (0, 0, 0, 0, 0, 0, 3))
        days = foreseen(db).days_of(gown)
    assert days.chance == 0.01
    assert days.likely is None
    assert days.why_not == "There is more work than hours: it is not done within twenty years."


def test_the_plan_is_kept_until_what_it_rests_on_changes(sqlite_database: Database) -> None:
    foresight = Foresight(Learning())
    with sqlite_database.writing() as db:
        bib = number(a_garment(db, "bib"))
        hours(db, wren=60)
        first = foresight.exact(db, TODAY)
        assert foresight.exact(db, TODAY) is first
        assert foresight.newest(db, TODAY) is first
        hours(db, wren=61)
        second = foresight.exact(db, TODAY)
        assert second is not first
        work_on(db, person(db, OWNER), bib, lambda row: row.operation == "edge_stitch")
        third = foresight.exact(db, TODAY)
        assert third is not second
        db.get_one(Garment, bib).wanted_on = TODAY + 7 * A_DAY
        db.flush()
        assert foresight.exact(db, TODAY) is not third
        assert foresight.exact(db, TODAY + A_DAY) is not third


def test_a_plan_that_takes_long_is_given_out_as_it_was_until_it_is_made_anew(
    sqlite_database: Database,
) -> None:
    foresight = Foresight(Learning(), quick_seconds=0)
    with sqlite_database.writing() as db:
        a_garment(db, "bib")
        hours(db, wren=60)
    with sqlite_database.reading() as db:
        first = foresight.newest(db, TODAY)
        assert not foresight.is_due()
    with sqlite_database.writing() as db:
        hours(db, wren=90)
    with sqlite_database.reading() as db:
        assert foresight.newest(db, TODAY) is first
        assert foresight.is_behind
    foresight.catch_up(sqlite_database, TODAY)
    with sqlite_database.reading() as db:
        assert foresight.newest(db, TODAY) is not first
        assert not foresight.is_due()


def test_the_last_line_of_a_piece_stands_on_its_likely_day(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        bonnet = number(a_garment(db, "bonnet"))
        hours(db, wren=60, ida=90)
        held(db, bonnet, stitcher_id(db, STITCHER), "brim")
        plan = foreseen(db)
        crown, ida = job_of(bonnet, panel_id(db, bonnet, "crown")), stitcher_id(db, SECOND)
    pages = day_pages(plan, TODAY, 120)
    worked = {entry.part.job: page.day for page in pages for hers in page.people for entry in hers.entries}
    likely = plan.days_of(bonnet).likely
    assert worked[job_of(bonnet, None)] == likely
    assert [page.day for page in pages if page.done] == [likely]
    hers = [page.day for page in day_pages(plan, TODAY, 120, ida) if page.people]
    assert hers[-1] == worked[crown]


def test_what_is_planned_is_proved_on_the_data(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        bib, bonnet = number(a_garment(db, "bib")), number(a_garment(db, "bonnet"))
        wren, owner = stitcher_id(db, STITCHER), person(db, OWNER).id
        planned = plan_hands(db, (bonnet, panel_id(db, bonnet, "brim")), wren, owner, START)
        planned.garment_id, planned.ended_at = bib, START - A_DAY
        db.add(planned)
        db.add(CalendarLink(account_id=owner, secret_sha256="c", created_at=START, ended_at=START - A_DAY))
    with sqlite_database.reading() as db:
        faults = prove(db).faults
    assert [fault for fault in faults if "planned for a panel" in fault or "ends after it was made" in fault] == list(
        faults
    )
    assert len(faults) == 3


def test_more_pieces_are_read_in_no_more_queries(sqlite_database: Database) -> None:
    said: list[str] = []

    def hear(*heard: object) -> None:
        said.append(str(heard[2]))

    event.listen(sqlite_database.reader, "before_cursor_execute", hear)
    asked = []
    for more in (2, 4):
        with sqlite_database.writing() as db:
            hours(db, wren=60)
            for _ in range(more):
                held(db, number(a_garment(db, "bib")), stitcher_id(db, STITCHER))
        said.clear()
        with sqlite_database.reading() as seen:
            foreseen(seen)
        asked.append(len(said))
    event.remove(sqlite_database.reader, "before_cursor_execute", hear)
    assert asked[0] == asked[1] > 0
