"""A band counted again at the table: the section, its mirror and their steps follow; the old count is kept."""

from typing import Any

import pytest
from sqlmodel import col, select

from service.errors import Conflict, NotAllowed, NotFound, Unreadable
from service.reckoning.asked import Wrong
from service.records.db import Database, Writing
from service.records.tables import Event, Garment, Section, Step
from service.studio.recount import Recount, recount_section, recounted
from tests.building import a_garment
from tests.counting import all_rows, count, number, person, step, stitcher_id, work_on
from tests.giving import Giving, give
from tests.serving import OWNER, SECOND, START, STITCHER

WHY = "counted again under the glass"


def _section(db: Writing, key: str) -> Section:
    return db.exec(select(Section).where(Section.key == key)).one()


def _recount(db: Writing, key: str, email: str = OWNER, **counted: Any) -> Section:
    return recount_section(
        db, person(db, email), number(_section(db, key)), Recount(**{"reason": WHY, **counted}), START
    )


def _quantities(db: Writing, key: str) -> dict[str, float]:
    rows = db.exec(select(Step).where(Step.section_id == _section(db, key).id)).all()
    return {row.operation: row.quantity_tenths / 10 for row in rows}


def test_other_standing_threads_re_reckon_bundles_knots_and_lengths(database: Database) -> None:
    """The bib's ladder on 20 warp threads per cm: 312 standing threads are 78 bundles of four over 15.6 cm."""
    with database.writing() as db:
        garment = a_garment(db, "bib")
        planned = garment.planned_ms
        row = _recount(db, "bib.upper", standing_threads=312)
        assert (row.standing_threads, row.bundles, row.length_um) == (312, 78, 156_000)
        assert _quantities(db, "bib.upper") == {
            "mark": 32.3,
            "edge_stitch": 1.1,
            "clip": 20,
            "withdraw": 10,
            "ladder_knot": 156,
        }
        withdraw = step(db, number(garment), "withdraw", "bib.upper")
        assert (withdraw.thread_length_um, withdraw.unit_ms) == (156_000, round(25_000 * (19 / 20) ** 0.3 * 156 / 250))
        assert garment.planned_ms < planned
        event = db.exec(select(Event).where(Event.object_kind == "section")).one()
        assert (event.action, event.object_kind, event.object_id, event.reason) == ("recounted", "section", row.id, WHY)
        assert event.before == "320 standing threads, 10 withdrawn, 80 bundles"
        assert event.after == "312 standing threads, 10 withdrawn, 78 bundles"


def test_other_withdrawn_threads_re_reckon_width_clips_and_stop_lines(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        a_garment(db, "bib")
        row = _recount(db, "bib.upper", withdrawn_threads=12)
        assert (row.withdrawn_threads, row.width_um, row.standing_threads) == (12, round(120_000 / 19), 320)
        assert _quantities(db, "bib.upper") == {
            "mark": 33.3,
            "edge_stitch": 1.3,
            "clip": 24,
            "withdraw": 12,
            "ladder_knot": 160,
        }


def test_the_mirror_that_was_counted_alike_follows(database: Database) -> None:
    with database.writing() as db:
        a_garment(db)
        _recount(db, "back.ladder", standing_threads=664)
        assert [_section(db, key).standing_threads for key in ("front.ladder", "back.ladder")] == [664, 664]
        assert _quantities(db, "front.ladder") == _quantities(db, "back.ladder")
        assert _section(db, "front.hem").standing_threads == 680
        assert len(db.exec(select(Event).where(Event.object_kind == "section")).all()) == 2


def test_a_finished_mirror_stays_as_it_was_made(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment_id, owner = number(a_garment(db)), person(db, OWNER)
        work_on(db, owner, garment_id, lambda row: row.section_id == _section(db, "front.hem").id)
        _recount(db, "back.ladder", standing_threads=664)
        assert _section(db, "front.ladder").standing_threads == 668
        assert _quantities(db, "front.ladder")["ladder_knot"] == 334
        assert _quantities(db, "back.ladder")["ladder_knot"] == 332


def test_a_mirror_that_was_counted_otherwise_is_left_alone(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        a_garment(db)
        _section(db, "back.ladder").standing_threads = 672
        db.flush()
        _recount(db, "front.ladder", standing_threads=664)
        assert _section(db, "back.ladder").standing_threads == 672


def test_odd_threads_wait_for_a_choice_and_are_never_dropped(database: Database) -> None:
    """The ladder of the bib has two stop lines: it may end sooner or later, spread its odd threads, or reach a seam."""
    with database.writing() as db:
        _drawn_up_without_a_way(db, "bib")
        before = all_rows(db)
        with pytest.raises(Unreadable) as refused:
            _recount(db, "bib.upper", standing_threads=311)
        assert list(refused.value.faults) == ["left_over"]
        assert refused.value.faults["left_over"].startswith(
            "3 of 311 standing threads are left over after 77 bundles of 4"
        )
        assert all_rows(db) == before
        found = recounted(db, number(_section(db, "bib.upper")), Recount(WHY, standing_threads=311))
        assert [choice.way for choice in found.choices] == ["shorter", "longer", "spread", "into_seam"]
        row = _recount(db, "bib.upper", standing_threads=311, left_over="spread")
        assert (row.left_over_way, row.bundles, row.standing_threads) == ("spread", 77, 311)
        assert sum(int(size) for size in row.bundle_sizes.split()) == 311


def test_the_designs_own_way_is_taken_with_odd_threads(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        a_garment(db, "bib")
        row = _recount(db, "bib.upper", standing_threads=311)
        assert (row.left_over_way, row.bundles, row.standing_threads) == ("shorter", 77, 308)


def test_an_odd_number_of_pairs_waits_unless_it_is_accepted(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        _drawn_up_without_a_way(db, "handkerchief")
        with pytest.raises(Unreadable, match="87 bundles is an odd number"):
            _recount(db, "square.paired", standing_threads=348)
        row = _recount(db, "square.paired", standing_threads=348, accepted=True)
        assert (row.bundles, row.accepted) == (87, True)
        assert _quantities(db, "square.paired")["pair_knot"] == 86


def test_too_few_threads_for_one_bundle_cannot_be_accepted(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        a_garment(db, "bib")
        with pytest.raises(Unreadable, match="do not make one bundle"):
            _recount(db, "bib.upper", standing_threads=3, accepted=True)


def test_pairs_to_knot_are_added_when_there_are_two_bundles_again(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment_id = number(a_garment(db, "handkerchief"))
        pairs = step(db, garment_id, "pair_knot", "square.paired")
        order = [(row.operation, row.section_id) for row in _in_order(db, garment_id)]
        db.delete(pairs)
        db.flush()
        _recount(db, "square.paired", standing_threads=8)
        assert _quantities(db, "square.paired")["pair_knot"] == 2
        rows = _in_order(db, garment_id)
        assert [(row.operation, row.section_id) for row in rows] == order
        assert len({row.position for row in rows}) == len(rows)


def _drawn_up_without_a_way(db: Writing, key: str) -> None:
    """A garment whose design leaves it to the maker what to do with odd threads."""
    garment = a_garment(db, key)
    garment.document = garment.document.replace('left_over = "shorter"\n', "")
    db.flush()


def _in_order(db: Writing, garment_id: int) -> list[Step]:
    return list(db.exec(select(Step).where(Step.garment_id == garment_id).order_by(col(Step.position))))


def test_knots_done_beyond_the_new_count_must_be_undone_first(database: Database) -> None:
    with database.writing() as db:
        garment_id, owner = number(a_garment(db, "bib")), person(db, OWNER)
        work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
        knots = step(db, garment_id, "ladder_knot")
        count(db, owner, knots, 157)
        before = all_rows(db)
        with pytest.raises(Conflict) as refused:
            _recount(db, "bib.upper", standing_threads=312)
        assert refused.value.sentence == (
            "Upper ladder: 157 knots are done, the new count comes to 156. Take back or unpick 1 first."
        )
        assert all_rows(db) == before
        count(db, owner, knots, 1, kind="unpick")
        assert _recount(db, "bib.upper", standing_threads=312).standing_threads == 312
        assert db.get_one(Garment, garment_id).next_step_id != knots.id


def test_threads_that_are_out_already_stay_out(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment_id, owner = number(a_garment(db, "bib")), person(db, OWNER)
        work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
        _recount(db, "bib.upper", withdrawn_threads=9)
        assert _section(db, "bib.upper").withdrawn_threads == 9
        assert _quantities(db, "bib.upper") == {
            "mark": 33.1,
            "edge_stitch": 1.1,
            "clip": 20,
            "withdraw": 10,
            "ladder_knot": 160,
        }
        _recount(db, "bib.upper", withdrawn_threads=11)
        assert _quantities(db, "bib.upper") == {
            "mark": 33.1,
            "edge_stitch": 1.1,
            "clip": 22,
            "withdraw": 11,
            "ladder_knot": 160,
        }
        assert db.get_one(Garment, garment_id).next_step_id == step(db, garment_id, "clip").id


def test_a_stitcher_recounts_what_is_in_her_hands(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment_id = number(a_garment(db, "bib"))
        give(db, person(db, OWNER), Giving(garment_id, stitcher_id(db, STITCHER)), START)
        with pytest.raises(NotAllowed, match="not in your hands"):
            _recount(db, "bib.upper", SECOND, standing_threads=312)
        assert _recount(db, "bib.upper", STITCHER, standing_threads=312).standing_threads == 312


@pytest.mark.parametrize(
    ("key", "counted", "kind", "sentence"),
    [
        ("bib.upper", {"standing_threads": 312, "reason": " "}, Unreadable, "reason: Say why it was counted again"),
        ("bib.upper", {}, Unreadable, "standing_threads: Enter how many threads were counted."),
        ("bib.upper", {"standing_threads": 0}, Wrong, "standing_threads: must be at least 1, not 0"),
        ("bib.upper", {"withdrawn_threads": -4}, Wrong, "withdrawn_threads: must be at least 1, not -4"),
        ("bib.upper", {"standing_threads": 10**9}, Wrong, "standing_threads: must be at most"),
        ("bib.upper", {"standing_threads": float("nan")}, Wrong, "standing_threads: must be a number"),
        ("bib.upper", {"standing_threads": 311, "left_over": "thrown away"}, Unreadable, "left_over: Choose one of"),
        ("neck", {"standing_threads": 312}, Conflict, "Only the threads of a band can be counted again."),
    ],
)
def test_nonsense_is_refused_and_nothing_is_changed(
    sqlite_database: Database, key: str, counted: dict[str, Any], kind: type[Exception], sentence: str
) -> None:
    with sqlite_database.writing() as db:
        a_garment(db, "bib")
        before = all_rows(db)
        with pytest.raises(kind, match=sentence):
            _recount(db, key, **counted)
        assert all_rows(db) == before


def test_an_unknown_section_is_not_found(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        with pytest.raises(NotFound):
            recount_section(db, person(db, OWNER), 999, Recount(WHY, 12), START)
        with pytest.raises(NotFound):
            recounted(db, 999, Recount(WHY, 12))


def test_a_panel_that_is_cut_out_is_not_recounted(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment_id = number(a_garment(db, "bib"))
        work_on(db, person(db, OWNER), garment_id, lambda row: row.operation == "cut_bias")
        with pytest.raises(Conflict, match=r"^This panel is cut out, so its bands stay as they were made\.$"):
            _recount(db, "bib.upper", standing_threads=312)


def test_a_garment_that_is_over_is_not_recounted(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment = a_garment(db, "bib")
        garment.state = "called off"
        db.flush()
        with pytest.raises(Conflict, match="called off"):
            _recount(db, "bib.upper", standing_threads=312)
