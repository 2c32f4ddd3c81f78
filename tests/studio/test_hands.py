"""Whose hands a piece is in: panel by panel until they are joined, then the garment as one."""

from datetime import date

import pytest
from sqlmodel import col, select

from service.errors import Conflict, NotAllowed, NotFound, Unreadable
from service.records.db import Database, Writing
from service.records.tables import Event, Garment, Panel, Stitcher
from service.studio.hands import is_in_hands
from tests.building import a_garment
from tests.counting import all_rows, count, number, person, step, stitcher_id, work_on
from tests.giving import Giving, give
from tests.serving import OWNER, SECOND, START, STITCHER


def _bonnet(db: Writing) -> tuple[int, list[Panel]]:
    garment_id = number(a_garment(db, "bonnet"))
    return garment_id, list(db.exec(select(Panel).where(Panel.garment_id == garment_id).order_by(col(Panel.position))))


def _cut_out(db: Writing, garment_id: int) -> None:
    work_on(db, person(db, OWNER), garment_id, lambda row: row.operation == "seam")


def test_one_panel_is_given_and_the_other_stays_where_it_was(database: Database) -> None:
    with database.writing() as db:
        garment_id, (brim, crown) = _bonnet(db)
        wren = stitcher_id(db, STITCHER)
        give(db, person(db, OWNER), Giving(garment_id, wren, frozenset({number(brim)}), "mind the fold"), START)
        assert (brim.holder_id, crown.holder_id) == (wren, None)
        event = db.exec(select(Event).where(Event.action == "given")).one()
        assert (event.action, event.object_kind, event.object_id, event.reason) == (
            "given",
            "panel",
            brim.id,
            "mind the fold",
        )
        assert (event.before, event.after) == ("", str(wren))


def test_who_held_a_panel_before_is_kept(database: Database) -> None:
    with database.writing() as db:
        garment_id, _ = _bonnet(db)
        wren, ida = stitcher_id(db, STITCHER), stitcher_id(db, SECOND)
        for to in (wren, ida, None):
            give(db, person(db, OWNER), Giving(garment_id, to), START)
        events = db.exec(select(Event).where(Event.action == "given").order_by(col(Event.id))).all()
        assert [(event.before, event.after) for event in events[::2]] == [
            ("", str(wren)),
            (str(wren), str(ida)),
            (str(ida), ""),
        ]


def test_a_garment_is_joined_when_its_last_panel_is_cut_out(database: Database) -> None:
    with database.writing() as db:
        garment_id, _ = _bonnet(db)
        wren = stitcher_id(db, STITCHER)
        give(db, person(db, OWNER), Giving(garment_id, wren), START)
        _cut_out(db, garment_id)
        garment = db.get_one(Garment, garment_id)
        assert (garment.joined_at, garment.holder_id) == (START, wren)
        assert is_in_hands(db, person(db, STITCHER), garment, None)
        assert not is_in_hands(db, person(db, SECOND), garment, None)
        assert count(db, person(db, STITCHER), step(db, garment_id, "seam"), 5).done == 5


def test_panels_cut_out_in_different_hands_are_joined_once_they_come_together(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment_id, (brim, _) = _bonnet(db)
        wren, owner = stitcher_id(db, STITCHER), person(db, OWNER)
        give(db, owner, Giving(garment_id, wren, frozenset({number(brim)})), START)
        _cut_out(db, garment_id)
        assert db.get_one(Garment, garment_id).joined_at is None
        give(db, owner, Giving(garment_id, wren), START)
        garment = db.get_one(Garment, garment_id)
        assert (garment.joined_at, garment.holder_id) == (START, wren)


def test_a_joined_garment_moves_as_one_and_never_by_one_panel(database: Database) -> None:
    with database.writing() as db:
        garment_id, (brim, crown) = _bonnet(db)
        _cut_out(db, garment_id)
        ida = stitcher_id(db, SECOND)
        before = all_rows(db)
        with pytest.raises(Conflict, match=r"^The panels are joined, so they move together: hand the garment over as"):
            give(db, person(db, OWNER), Giving(garment_id, ida, frozenset({number(brim)})), START)
        assert all_rows(db) == before
        give(db, person(db, OWNER), Giving(garment_id, ida), START)
        assert (brim.holder_id, crown.holder_id, db.get_one(Garment, garment_id).holder_id) == (ida, ida, ida)


def test_a_panel_not_cut_out_after_all_takes_the_joining_back(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment_id, _ = _bonnet(db)
        _cut_out(db, garment_id)
        count(db, person(db, OWNER), step(db, garment_id, "cut_out"), 1, kind="counter")
        garment = db.get_one(Garment, garment_id)
        assert (garment.joined_at, garment.holder_id) == (None, None)


def test_a_stitcher_gives_on_what_is_in_her_own_hands_only(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment_id, (brim, crown) = _bonnet(db)
        wren, ida = stitcher_id(db, STITCHER), stitcher_id(db, SECOND)
        give(db, person(db, OWNER), Giving(garment_id, wren, frozenset({number(brim)})), START)
        before = all_rows(db)
        for panels in (frozenset({number(crown)}), frozenset[int]()):
            with pytest.raises(NotAllowed, match=r"^Only what is in your own hands can be given on by you\.$"):
                give(db, person(db, STITCHER), Giving(garment_id, ida, panels), START)
        assert all_rows(db) == before
        give(db, person(db, STITCHER), Giving(garment_id, ida, frozenset({number(brim)})), START)
        assert brim.holder_id == ida


def test_a_stitcher_who_left_is_given_nothing(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment_id, _ = _bonnet(db)
        wren = stitcher_id(db, STITCHER)
        db.get_one(Stitcher, wren).left_on = date(2026, 8, 1)
        db.flush()
        before = all_rows(db)
        with pytest.raises(Conflict, match="has left the studio, so nothing can be given to her"):
            give(db, person(db, OWNER), Giving(garment_id, wren), START)
        assert all_rows(db) == before


@pytest.mark.parametrize(
    ("giving", "kind"),
    [
        (Giving(999, None), NotFound),
        (Giving(1, None, frozenset({999})), Unreadable),
    ],
    ids=["garment", "panel"],
)
def test_what_is_not_known_is_refused(sqlite_database: Database, giving: Giving, kind: type[Exception]) -> None:
    with sqlite_database.writing() as db:
        _bonnet(db)
        before = all_rows(db)
        with pytest.raises(kind):
            give(db, person(db, OWNER), giving, START)
        assert all_rows(db) == before


@pytest.mark.parametrize("state", ["delivered", "called off"])
def test_a_garment_that_is_gone_changes_no_hands(sqlite_database: Database, state: str) -> None:
    with sqlite_database.writing() as db:
        garment_id, _ = _bonnet(db)
        db.get_one(Garment, garment_id).state = state
        db.flush()
        with pytest.raises(Conflict, match="nobody's hands"):
            give(db, person(db, OWNER), Giving(garment_id, stitcher_id(db, STITCHER)), START)
