"""A way out, taken: counts, steps and mirrors follow, the log tells why, and everything that must hold still holds."""

import pytest
from sqlmodel import select

from service.errors import Conflict, NotAllowed, NotFound, Unreadable
from service.reckoning.rescue import Trouble
from service.records.db import Database, Writing
from service.records.tables import Event, Garment, Panel, Section, Step, Tally
from service.studio.proofs import prove
from service.studio.rescue import RESCUED, offered_ways, take_way, trouble_named
from tests.building import a_garment
from tests.counting import count, number, person, step
from tests.quoting import charge, foresight
from tests.serving import OWNER, START, STITCHER


def _bib(db: Writing) -> tuple[int, Section]:
    """A bib whose upper ladder is clipped and withdrawn, no knot made."""
    garment_id = number(a_garment(db, "bib"))
    owner = person(db, OWNER)
    for name, section in (
        *(("cut_block", ""), ("mark", "bib.upper"), ("edge_stitch", "bib.upper")),
        *(("clip", "bib.upper"), ("withdraw", "bib.upper")),
    ):
        row = step(db, garment_id, name, section)
        count(db, owner, row, row.quantity_tenths / 10)
    band = db.exec(select(Section).where(Section.garment_id == garment_id, Section.key == "bib.upper")).one()
    return garment_id, band


def _take(db: Writing, band: Section, trouble: Trouble, way: str) -> None:
    take_way(db, person(db, OWNER), number(band), (trouble, way, "the scissors slipped"), START)


def _steps(db: Writing, band: Section) -> dict[str, tuple[int, int]]:
    rows = db.exec(select(Step).where(Step.section_id == band.id))
    return {row.operation: (row.done_tenths, row.quantity_tenths) for row in rows}


def test_a_woven_in_thread_adds_its_work_after_the_band_s_own(database: Database) -> None:
    with database.writing() as db:
        _, band = _bib(db)
        before = _steps(db, band)
        _take(db, band, "standing thread cut", "reweave")
        after = _steps(db, band)
        added = {name: amounts for name, amounts in after.items() if amounts != before.get(name)}
        assert added["fasten_off"] == (0, 20)
        assert added["secure"][1] > before.get("secure", (0, 0))[1]
        event = db.exec(select(Event).where(Event.action == RESCUED)).one()
        assert event.reason == "standing thread cut, reweave: the scissors slipped"
    with database.reading() as db:
        assert prove(db).faults == ()


def test_a_wider_band_is_counted_anew_with_its_mirror(database: Database) -> None:
    with database.writing() as db:
        garment_id = number(a_garment(db, "christening_gown"))
        band = db.exec(
            select(Section).where(Section.garment_id == garment_id, Section.mirror_of != "", Section.kind == "ladder")
        ).first()
        assert band is not None
        twin = db.exec(select(Section).where(Section.garment_id == garment_id, Section.key == band.mirror_of)).one()
        threads = band.withdrawn_threads or 0
        _take(db, band, "clipped wrongly", "widen")
        assert (band.withdrawn_threads, twin.withdrawn_threads) == (threads + 1, threads + 1)
    with database.reading() as db:
        assert prove(db).faults == ()


def test_a_cut_thread_is_drawn_out_and_its_bundle_is_one_smaller(database: Database) -> None:
    with database.writing() as db:
        _, band = _bib(db)
        threads, bundles = band.standing_threads or 0, band.bundles
        _take(db, band, "standing thread cut", "smaller bundle")
        assert (band.standing_threads, band.bundles) == (threads - 1, bundles)
        assert sum(int(size) for size in band.bundle_sizes.split()) == threads - 1
    with database.reading() as db:
        assert prove(db).faults == ()


def test_another_kind_has_the_same_threads_and_other_knots(database: Database) -> None:
    with database.writing() as db:
        garment_id, band = _bib(db)
        assert band.kind == "ladder"
        threads = (band.withdrawn_threads, band.standing_threads)
        _take(db, band, "standing thread cut", "another kind")
        assert (band.kind, band.withdrawn_threads, band.standing_threads) == ("alternating", *threads)
        steps = _steps(db, band)
        assert steps["ladder_knot"] == (0, 0)
        assert steps["alternating_knot"] == (0, 10 * (band.bundles or 0))
        assert 'kind = "alternating"' in db.get_one(Garment, garment_id).document
    with database.reading() as db:
        assert prove(db).faults == ()


def test_a_moved_stop_line_is_stitched_again(database: Database) -> None:
    with database.writing() as db:
        _, band = _bib(db)
        before = _steps(db, band)["edge_stitch"]
        _take(db, band, "clipped wrongly", "move the stop line")
        done, quantity = _steps(db, band)["edge_stitch"]
        assert done == before[0]
        assert quantity == done + round((band.width_um or 0) / 1000)
    with database.reading() as db:
        assert prove(db).faults == ()


def test_a_new_panel_undoes_what_was_done_and_keeps_its_time(database: Database) -> None:
    with database.writing() as db:
        _, band = _bib(db)
        worked = len(db.exec(select(Tally).where(Tally.kind == "work")).all())
        _take(db, band, "stained", "new panel")
        done = db.exec(select(Step.done_tenths).where(Step.panel_id == band.panel_id)).all()
        assert set(done) == {0}
        assert len(db.exec(select(Tally).where(Tally.kind == "unpick")).all()) == worked
    with database.reading() as db:
        assert prove(db).faults == ()


def test_hours_price_and_days_stand_beside_every_way(database: Database) -> None:
    with database.writing() as db:
        charge(db)
        _, band = _bib(db)
        found = {
            one.way.name: one
            for one in offered_ways(db, person(db, OWNER), number(band), "standing thread cut", foresight())
        }
        assert found["reweave"].hours > 0
        assert (found["reweave"].price_minor or 0) > 0
        assert found["reweave"].days >= 1
        assert found["smaller bundle"].hours == 0
        assert found["another kind"].hours < 0
        assert (found["another kind"].price_minor or 0) < 0


def test_what_is_closed_or_not_hers_to_choose_is_refused_and_changes_nothing(database: Database) -> None:
    with database.writing() as db:
        _, band = _bib(db)
        knots = step(db, band.garment_id, "ladder_knot", "bib.upper")
        count(db, person(db, OWNER), knots, 1)
        with pytest.raises(Conflict, match="knots are begun"):
            _take(db, band, "clipped wrongly", "widen")
        with pytest.raises(Unreadable, match=r".*"):
            _take(db, band, "clipped wrongly", "magic")
        with pytest.raises(Unreadable, match=r".*"):
            take_way(db, person(db, OWNER), number(band), ("clipped wrongly", "reweave", " "), START)
        with pytest.raises(NotFound):
            offered_ways(db, person(db, STITCHER), number(band), "stained", foresight())
        panel = db.get_one(Panel, band.panel_id)
        panel.holder_id = person(db, STITCHER).stitcher_id
        db.add(panel)
        db.flush()
        with pytest.raises(NotAllowed):
            take_way(db, person(db, STITCHER), number(band), ("stained", "new panel", "tea"), START)
        assert db.exec(select(Event).where(Event.action == RESCUED)).all() == []
        with pytest.raises(Unreadable):
            trouble_named("bored")
