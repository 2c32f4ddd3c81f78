"""Handovers behind the pages: where a piece stopped, samples, needles and pins missing or broken, what holds a garment."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from sqlmodel import col, select, text

from service.errors import Conflict, NotAllowed, Unreadable
from service.reckoning.sharps_out import Sharps
from service.records.db import Database, Writing
from service.records.queries.handovers import handovers_of, not_settled, open_counts
from service.records.tables import BrokenSharp, Event, Garment, Handover, HandoverPlace, Panel, Stitcher
from service.studio import standing
from service.studio.handover_hours import hours_at_pace
from service.studio.handovers import CountedIn, Offer, Tools, offer, offer_or_pass_on, pass_on, send_back, take
from service.studio.nothing_open import check_nothing_open
from service.studio.odd import odd_of
from service.studio.proofs import prove
from service.studio.rates import Learning
from service.studio.samples import Bundles, keep_sample, tension_of
from service.studio.sharps import Found, all_of_it_found, find_missing, tell_broken
from service.studio.statements_handovers import HANDOVERS
from service.studio.stitchers import let_go
from service.studio.stopping import places_now, sections_left
from service.studio.travelling import count_in
from tests.building import a_garment
from tests.counting import all_rows, count, number, person, step, stitcher_id, work_on
from tests.giving import opened_copy
from tests.serving import OWNER, SECOND, START, STITCHER

BIB = 1


def a_half_done_bib(db: Writing) -> int:
    """A bib whose first band is knotted along its first edge and seven bundles of its second; it is Wren's."""
    bib, owner, wren = number(a_garment(db, "bib")), person(db, OWNER), person(db, STITCHER)
    pass_on(db, owner, wren, Offer(bib, wren.stitcher_id), START)
    work_on(db, owner, bib, lambda row: row.operation == "ladder_knot")
    knots = step(db, bib, "ladder_knot")
    count(db, wren, knots, knots.quantity_tenths / 20 + 7)
    return bib


@pytest.fixture(scope="module")
def prepared(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite studio with that bib, made once."""
    folder = tmp_path_factory.mktemp("prepared")
    with opened_copy(sqlite_template, folder) as database, database.writing() as db:
        assert a_half_done_bib(db) == BIB
    return folder / "studio.sqlite"


@pytest.fixture
def sqlite_database(prepared: Path, tmp_path: Path) -> Iterator[Database]:
    """A studio with it."""
    with opened_copy(prepared, tmp_path) as database:
        yield database


def handed_on(db: Writing, bib: int, **said: object) -> Handover:
    wren, ida = person(db, STITCHER), person(db, SECOND)
    return offer(db, wren, Offer(bib, ida.stitcher_id, needles_out=2, pins_out=5, **said), START)  # type: ignore[arg-type]


def the_place(db: Writing, handover: Handover) -> HandoverPlace:
    garment = db.get_one(Garment, handover.garment_id)
    panels = frozenset(number(row) for row in db.exec(select(Panel).where(Panel.garment_id == garment.id)))
    (place,) = places_now(db, garment, handover, panels)
    return place


def test_the_place_is_filled_in_from_the_tallies(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        bib = BIB
        knots = step(db, bib, "ladder_knot")
        assert knots.section_id is not None
        handover = handed_on(db, bib, tools={knots.section_id: Tools("the blue reel", "sharps No 9")})
        place = the_place(db, handover)
        edge = knots.quantity_tenths // 20
        assert (place.step_id, place.pass_words) == (knots.id, "second edge, work turned")
        assert (place.next_number, place.whole_number) == (8, edge)
        assert (place.thread, place.needle) == ("the blue reel", "sharps No 9")
        assert place.bundle_threads == 4


def test_what_is_worked_while_it_is_offered_moves_the_place_until_it_is_taken(database: Database) -> None:
    with database.writing() as db:
        bib = a_half_done_bib(db)
        knots, wren, ida = step(db, bib, "ladder_knot"), person(db, STITCHER), person(db, SECOND)
        assert knots.section_id is not None
        handover = handed_on(db, bib, tools={knots.section_id: Tools("the blue reel", "")})
        count(db, wren, knots, 3)
        place = the_place(db, handover)
        assert (place.next_number, place.thread) == (11, "the blue reel")
        take(db, ida, number(handover), CountedIn(2, 5), START)
        count(db, ida, knots, 4)
        assert the_place(db, handover).next_number == 11
        kept = db.exec(select(HandoverPlace).where(HandoverPlace.handover_id == handover.id)).one()
        assert (kept.next_number, kept.thread, kept.done_tenths) == (11, "the blue reel", knots.done_tenths - 40)


def test_a_missing_pin_holds_the_garment_until_it_is_found(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        bib = BIB
        owner, ida = person(db, OWNER), person(db, SECOND)
        handover = handed_on(db, bib)
        take(db, ida, number(handover), CountedIn(2, 4), START)
        count_in(db, ida, bib, ida.id, Sharps(2, 4), START)
        work_on(db, owner, bib, lambda _: False)
        before = all_rows(db)
        with pytest.raises(Conflict) as refused:
            standing.finish(db, bib, owner.id, START)
        assert refused.value.sentence == (
            "1 pin is missing since Ida Thorne took it. The garment stays here until all of it is found."
        )
        assert all_rows(db) == before
        assert [row.id for row in not_settled(db, ida.stitcher_id)] == [handover.id]
        find_missing(db, ida, number(handover), Found(0, 1, "in the hoop"), START)
        assert open_counts(db, bib) == []
        standing.finish(db, bib, owner.id, START)
        told = db.exec(select(Event.reason).where(Event.action == "found again")).one()
        assert told == "1 pin: in the hoop"


def test_a_broken_needle_holds_the_garment_until_a_second_person_has_seen_all_of_it(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        bib = BIB
        owner, wren = person(db, OWNER), person(db, STITCHER)
        broken = BrokenSharp(garment_id=bib, kind="needle", told_by=wren.id, told_at=START, note="at the eye")
        number_of = number(tell_broken(db, wren, broken))
        work_on(db, owner, bib, lambda _: False)
        with pytest.raises(Conflict, match=r"^A needle broke or was lost, and not all of it is found\."):
            standing.finish(db, bib, owner.id, START)
        with pytest.raises(NotAllowed, match="A second person must see that all of it is there"):
            all_of_it_found(db, wren, number_of, "taped in", START)
        with pytest.raises(Unreadable, match="Say where the parts are kept"):
            all_of_it_found(db, owner, number_of, " ", START)
        all_of_it_found(db, owner, number_of, "taped into the book", START)
        with pytest.raises(Conflict, match="All of it was found already"):
            all_of_it_found(db, owner, number_of, "again", START)
        standing.finish(db, bib, owner.id, START)


def test_a_needle_that_broke_is_told_only_at_a_piece_in_her_hands(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        bib, ida = BIB, person(db, SECOND)
        with pytest.raises(NotAllowed, match="not in your hands"):
            tell_broken(db, ida, BrokenSharp(garment_id=bib, kind="pin", told_by=ida.id, told_at=START))


def test_a_piece_between_hands_is_neither_finished_nor_delivered(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        bib, owner = BIB, person(db, OWNER)
        work_on(db, owner, bib, lambda _: False)
        standing.finish(db, bib, owner.id, START)
        handed_on(db, bib)
        with pytest.raises(Conflict, match=r"^It is offered to Ida Thorne\. Let that be taken or sent back first"):
            standing.deliver(db, bib, owner.id, START)


def test_calling_a_garment_off_takes_its_offers_back(database: Database) -> None:
    with database.writing() as db:
        bib = a_half_done_bib(db)
        handover = handed_on(db, bib)
        standing.call_off(db, bib, "The family moved away", person(db, OWNER).id, START)
        assert (handover.state, handover.reason) == ("sent back", "The family moved away")
        check_nothing_open(db, bib)
    with database.reading() as db:
        assert prove(db).faults == ()


def test_a_sample_more_than_five_parts_in_a_hundred_off_is_told(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        bib, ida = BIB, person(db, SECOND)
        handover = handed_on(db, bib, bundles_tenths=(248, 252))
        with pytest.raises(Conflict, match="Take the piece first"):
            keep_sample(db, ida, number(handover), Bundles(250, 250), START)
        take(db, ida, number(handover), CountedIn(2, 5), START)
        finding = keep_sample(db, ida, number(handover), Bundles(266, 264), START)
        assert finding is not None
        assert "lies 6 % closer than the work: 26.5 bundles on 50 mm, 25 in the piece" in finding.text
        assert keep_sample(db, ida, number(handover), Bundles(252, 258), START) is None
        assert tension_of(handover) is None
        with pytest.raises(NotAllowed, match="by whoever took the piece"):
            keep_sample(db, person(db, STITCHER), number(handover), Bundles(250, 250), START)
        with pytest.raises(Unreadable, match="0\\.1 to 500"):
            keep_sample(db, ida, number(handover), Bundles(0, 250), START)


def test_who_held_it_when_is_kept(database: Database) -> None:
    with database.writing() as db:
        bib, wren, ida = a_half_done_bib(db), person(db, STITCHER), person(db, SECOND)
        sent = handed_on(db, bib)
        send_back(db, ida, number(sent), "no time before Friday", START + timedelta(days=1))
        taken = handed_on(db, bib)
        take(db, ida, number(taken), CountedIn(2, 5), START + timedelta(days=2))
        told = [(row.state, row.givers, row.to, row.ended_by, row.reason) for row in handovers_of(db, bib)]
        assert told == [
            ("taken", ("Wren Hallam",), "Ida Thorne", "Ida Thorne", ""),
            ("sent back", ("Wren Hallam",), "Ida Thorne", "Ida Thorne", "no time before Friday"),
            ("taken", ("",), "Wren Hallam", "Wren Hallam", ""),
        ]
        with pytest.raises(NotAllowed, match="Only what is in your own hands"):
            offer(db, wren, Offer(bib, None), START)


def test_panels_joined_after_they_were_offered_move_together_or_not_at_all(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        owner, ida = person(db, OWNER), person(db, SECOND)
        bonnet = number(a_garment(db, "bonnet"))
        brim = db.exec(select(Panel.id).where(Panel.garment_id == bonnet, Panel.key == "brim")).one()
        assert brim is not None
        handover = offer(db, owner, Offer(bonnet, ida.stitcher_id, frozenset({brim})), START)
        work_on(db, owner, bonnet, lambda row: row.operation == "seam")
        with pytest.raises(Conflict, match="were joined since this was offered"):
            take(db, ida, number(handover), CountedIn(0, 0), START)


def test_the_owner_counts_in_for_a_stitcher_who_cannot_sign_in(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        owner, bib = person(db, OWNER), number(a_garment(db, "bib"))
        nan = Stitcher(name="Nan Pike", created_at=START)
        db.add(nan)
        db.flush()
        handover = offer_or_pass_on(db, owner, Offer(bib, nan.id, needles_out=1), START)
        assert handover.state == "offered"
        take(db, owner, number(handover), CountedIn(1, 0), START)
        assert set(db.exec(select(Panel.holder_id).where(Panel.garment_id == bib))) == {nan.id}


def test_a_stitcher_to_whom_something_is_offered_does_not_leave_before_it_is_answered(
    sqlite_database: Database,
) -> None:
    with sqlite_database.writing() as db:
        bib, owner, ida = BIB, person(db, OWNER), stitcher_id(db, SECOND)
        handover = handed_on(db, bib)
        with pytest.raises(Conflict, match="is offered to or by Ida Thorne"):
            let_go(db, ida, START.date(), owner.id, START)
        send_back(db, owner, number(handover), "she leaves", START)
        let_go(db, ida, START.date(), owner.id, START)


def test_the_hours_are_those_of_the_receiver(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        square, owner, ida = number(a_garment(db, "handkerchief")), person(db, OWNER), person(db, SECOND)
        garment, learning = db.get_one(Garment, square), Learning()
        panels = {number(row) for row in db.exec(select(Panel).where(Panel.garment_id == square))}
        foreseen = hours_at_pace(db, learning, garment, panels, ida.stitcher_id)
        assert set(foreseen.sections) == {each.section.id for each in sections_left(db, garment, panels)}
        assert all(0 < one.at(50) < foreseen.whole.at(50) for one in foreseen.sections.values())
        pass_on(db, owner, ida, Offer(square, ida.stitcher_id), START)
        assert learning.hours_left(db, [square])[square].at(50) == pytest.approx(foreseen.whole.at(50))


def test_what_was_odd_is_told_from_the_log(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        bib = BIB
        knots = step(db, bib, "ladder_knot")
        count(db, person(db, OWNER), knots, 4, kind="unpick", reason="too loose")
        garment = db.get_one(Garment, bib)
        sections = [each.section for each in sections_left(db, garment, {number(p) for p in db.exec(select(Panel))})]
        assert odd_of(db, garment, sections) == ["Upper ladder: 4 knots were unpicked (too loose)."]


BROKEN = (
    ("a panel is where", "update panel set holder_id = null where garment_id = 1"),
    ("a panel is marked as offered", "update handover_panel set is_open = not is_open where handover_id = 2"),
    ("a handover's panels and places", "update handover set garment_id = 2 where id = 2"),
    ("no needle or pin is missing", "update handover set needles_out = 9 where id = 3"),
    ("every part of a needle broken", "update broken_sharp set garment_id = 2"),
    ("nothing of a garment that is gone", "update garment set state = 'called off' where id = 1"),
)


def test_each_statement_sees_what_breaks_it(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        bib, wren, owner = BIB, person(db, STITCHER), person(db, OWNER)
        handed_on(db, bib)
        gone = number(a_garment(db, "bonnet"))
        pass_on(db, owner, owner, Offer(gone, owner.stitcher_id, needles_out=1), START)
        count_in(db, owner, gone, owner.id, Sharps(1, 0), START)
        work_on(db, owner, gone, lambda _: False)
        standing.finish(db, gone, owner.id, START)
        standing.deliver(db, gone, owner.id, START)
        tell_broken(db, wren, BrokenSharp(garment_id=bib, kind="pin", told_by=wren.id, told_at=START, note="bent"))
        assert [(row.id, row.garment_id) for row in db.exec(select(Handover).order_by(col(Handover.id)))] == [
            (1, bib),
            (2, bib),
            (3, gone),
        ]
    said = []
    for says, breaking in BROKEN:
        with sqlite_database.writing() as db:
            assert [one.says for one in HANDOVERS if db.connection().execute(text(one.breaking)).first()] == []
            assert db.connection().execute(text(breaking)).rowcount > 0
            seen = [one.says for one in HANDOVERS if db.connection().execute(text(one.breaking)).first()]
            assert any(one.startswith(says) for one in seen), says
            said += [one for one in seen if one.startswith(says)]
            db.rollback()
    assert len(set(said)) == len(HANDOVERS)
