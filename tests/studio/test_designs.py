"""Designs written down, changed, copied and put away, on both databases."""

from dataclasses import replace

import pytest
from sqlmodel import select

from service.errors import Conflict, NotFound
from service.reckoning.design_text import read_design
from service.records.db import Database
from service.records.queries.designs import designs_by_name
from service.records.tables import Event
from service.studio import designs
from service.studio.design_parts import Table, free_key, moved_part, tables_of, with_part, without_part
from tests.building import DESIGNS, a_design, a_garment
from tests.serving import START

BIB = read_design((DESIGNS / "bib.toml").read_text(encoding="utf-8"))


def test_a_design_is_kept_in_its_one_way_of_writing(database: Database) -> None:
    with database.writing() as db:
        row = designs.add_design(db, BIB, START)
        assert row.document == (DESIGNS / "bib.toml").read_text(encoding="utf-8")
        assert (row.key, row.name, row.state) == ("bib", BIB.name, "current")


def test_a_design_nobody_used_is_changed_where_it_stands_and_its_old_text_kept(database: Database) -> None:
    with database.writing() as db:
        row = designs.add_design(db, BIB, START)
        assert row.id
        before = row.document
        changed = designs.change_design(db, row.id, replace(BIB, name="Larger bib"), START, 1)
        event = db.exec(select(Event).where(Event.action == "change_design")).one()
        assert changed is row
        assert (row.name, event.object_id) == ("Larger bib", row.id)
        assert (event.before, event.after) == (before, row.document)


def test_a_design_in_use_is_redrawn_once(database: Database) -> None:
    with database.writing() as db:
        garment = a_garment(db, "bib")
        new = designs.change_design(db, garment.design_id, replace(BIB, name="Larger bib"), START, 1)
        old = designs.design_with(db, garment.design_id)
        assert new.id
        assert (old.state, new.state, new.redrawn_from_id) == ("redrawn", "current", old.id)
        newer = designs.newer_than(db, garment.design_id)
        assert newer is new
        again = designs.change_design(db, new.id, replace(BIB, name="Largest bib"), START, 1)
        assert again is new
        with pytest.raises(Conflict, match="change the newer one"):
            designs.change_design(db, garment.design_id, BIB, START, 1)
        with pytest.raises(Conflict, match="off the list already"):
            designs.put_design_away(db, garment.design_id, away=True)


def test_a_change_that_changes_nothing_leaves_a_design_in_use_current(database: Database) -> None:
    with database.writing() as db:
        garment = a_garment(db, "bib")
        row = designs.change_design(db, garment.design_id, BIB, START, 1)
        assert (row.id, row.state) == (garment.design_id, "current")


def test_copies_have_names_of_their_own_in_files(database: Database) -> None:
    with database.writing() as db:
        row = designs.add_design(db, BIB, START)
        assert row.id
        copies = [designs.copy_design(db, row.id, START) for _ in range(2)]
        assert [copy.key for copy in copies] == ["bib_copy", "bib_copy_2"]
        with pytest.raises(NotFound):
            designs.copy_design(db, 99, START)


def test_the_list_is_in_the_order_of_names_whatever_their_letters(database: Database) -> None:
    with database.writing() as db:
        for name in ("bonnet", "Apron", "Bib", "apron"):
            row = a_design(db, "bib")
            row.name = name
            db.add(row)
    with database.reading() as db:
        found = designs_by_name(db, "", "current")
        assert [row.name for row in found] == ["Apron", "apron", "Bib", "bonnet"]
        beyond = designs_by_name(db, "", "current", found[1].id)
        assert [row.name for row in beyond] == ["Bib", "bonnet"]
        assert [row.name for row in designs_by_name(db, "B_b", "current")] == []


def test_a_changed_part_stays_in_its_place_and_a_new_one_comes_last() -> None:
    table = tables_of((DESIGNS / "blouse.toml").read_text(encoding="utf-8"))
    names = list(table["panels"])
    changed = with_part(table, ("panels", names[0]), {"name": "Other"})
    assert list(changed["panels"]) == names
    assert table["panels"][names[0]]["name"] == "Front"
    assert list(with_part(table, ("panels", "pocket"), {})["panels"]) == [*names, "pocket"]
    assert list(without_part(table, ("panels", names[1]))["panels"]) == [names[0], *names[2:]]


def test_a_part_moves_past_its_neighbour_and_stops_at_the_end() -> None:
    table: Table = {"panels": {"a": {}, "b": {}, "c": {}}}
    assert list(moved_part(table, ("panels", "b"), up=True)["panels"]) == ["b", "a", "c"]
    assert list(moved_part(table, ("panels", "b"), up=False)["panels"]) == ["a", "c", "b"]
    assert list(moved_part(table, ("panels", "a"), up=True)["panels"]) == ["a", "b", "c"]
    with pytest.raises(NotFound):
        moved_part(table, ("panels", "d"), up=True)


@pytest.mark.parametrize(
    ("name", "key"), [("Ladder, 2 cm", "ladder_2_cm"), ("Ärmel", "armel"), ("2 rows", "section"), ("x" * 90, "x" * 36)]
)
def test_a_name_for_people_becomes_one_for_the_text(name: str, key: str) -> None:
    assert free_key(name, (), "section") == key


def test_no_design_is_not_found(database: Database) -> None:
    with database.reading() as db, pytest.raises(NotFound, match="no such design"):
        designs.design_with(db, 7)
