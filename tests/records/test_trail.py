"""The trail: what a transaction changed and tells of nowhere is told by the names of its fields, and by them alone."""

from collections.abc import Callable

import pytest
from sqlmodel import SQLModel, col, func, select

from service.records.db import Database, Writing
from service.records.tables import Client, Commission, Event, Garment, Step, StitcherAway
from service.records.trail import FOLLOWS, OF, UNTOLD, WHOLE
from service.studio import client_data, clients
from tests.building import a_commission, a_garment
from tests.serving import START

Told = tuple[str, str, int, str, int | None]


def _told(database: Database, act: Callable[[Writing], object], by: int | None = None) -> list[Told]:
    """The events that a transaction leaves."""
    with database.reading() as db:
        before = db.exec(select(func.max(Event.id))).one() or 0
    with database.writing(by) as db:
        act(db)
    with database.reading() as db:
        rows = db.exec(select(Event).where(col(Event.id) > before).order_by(col(Event.id)))
        return [(row.action, row.object_kind, row.object_id, row.after, row.account_id) for row in rows]


@pytest.fixture
def hester(database: Database) -> Database:
    """A studio with a client, her commission and a garment."""
    with database.writing() as db:
        a_garment(db, "bib")
    return database


def test_every_table_is_a_record_a_part_of_one_or_left_out_for_a_reason() -> None:
    tables = SQLModel.metadata.tables
    assert sorted([*WHOLE, *OF, *UNTOLD]) == sorted(tables)
    assert {kind for kind, _ in OF.values()} <= set(WHOLE)
    assert [name for name, (_, column) in OF.items() if column and column not in tables[name].c] == []
    assert [(name, column) for name, all_ in FOLLOWS.items() for column in all_ if column not in tables[name].c] == []
    assert all(UNTOLD.values())


def test_what_is_written_down_changed_or_put_away_is_told_by_names_alone(database: Database) -> None:
    facts = clients.ClientFacts("Hester Vane", "hester@example.org", "01", "", "")
    other = clients.ClientFacts("Hester Vane", "hester@example.org", "02", "Mill Lane 4", "")
    assert _told(database, lambda db: clients.add_client(db, facts, START), 1) == [("written down", "client", 1, "", 1)]
    changing = _told(database, lambda db: clients.change_client(db, 1, other), 1)
    assert changing == [("changed", "client", 1, "phone, address", 1)]
    assert _told(database, lambda db: clients.change_client(db, 1, other), 1) == []
    away = _told(database, lambda db: clients.put_client_away(db, 1, away=True))
    assert away == [("changed", "client", 1, "put_away", None)]


def test_a_part_is_told_with_the_record_that_it_is_of(hester: Database) -> None:
    def away(db: Writing) -> None:
        db.add(StitcherAway(stitcher_id=1, first_day=START.date(), last_day=START.date(), note="her sister's wedding"))

    def home(db: Writing) -> None:
        db.delete(db.get_one(StitcherAway, 1))

    def shorter(db: Writing) -> None:
        db.get_one(StitcherAway, 1).note = ""

    assert _told(hester, away) == [("changed", "stitcher", 1, "stitcher_away added", None)]
    assert _told(hester, shorter) == [("changed", "stitcher", 1, "stitcher_away.note", None)]
    assert _told(hester, home) == [("changed", "stitcher", 1, "stitcher_away taken out", None)]


def test_what_an_event_tells_of_is_not_told_twice(hester: Database) -> None:
    def called_off(db: Writing) -> None:
        db.get_one(Commission, 1).state = "called off"
        db.get_one(Garment, 1).size = "74"
        db.add(Event(at=START, action="called off", object_kind="commission", object_id=1))

    assert _told(hester, called_off) == [
        ("called off", "commission", 1, "", None),
        ("changed", "garment", 1, "size", None),
    ]


def test_an_event_about_a_part_tells_of_the_garment(hester: Database) -> None:
    def noted(db: Writing) -> None:
        step = db.get_one(Step, 1)
        step.note = "from the left"
        db.add(Event(at=START, action="noted", object_kind="step", object_id=1, garment_id=step.garment_id))

    assert [told[:3] for told in _told(hester, noted)] == [("noted", "step", 1)]


def test_what_follows_from_other_records_is_not_told(hester: Database) -> None:
    def counted(db: Writing) -> None:
        step, garment = db.get_one(Step, 1), db.get_one(Garment, 1)
        step.done_tenths = step.quantity_tenths
        garment.left_ms = 0

    assert _told(hester, counted) == []


def test_only_what_is_kept_is_told(hester: Database) -> None:
    def half(db: Writing) -> None:
        db.get_one(Client, 1).phone = "02"
        with db.begin_nested() as part:
            db.get_one(Client, 1).address = "Mill Lane 4"
            db.get_one(Commission, 1).title = "A cap"
            db.flush()
            part.rollback()
        with db.begin_nested():
            db.get_one(Client, 1).notes = "comes on Tuesdays"

    def all_back(db: Writing) -> None:
        db.get_one(Client, 1).phone = "03"
        db.flush()
        db.rollback()

    assert _told(hester, half) == [("changed", "client", 1, "phone, notes", None)]
    assert _told(hester, all_back) == []


def test_an_erasure_tells_of_itself_and_no_event_keeps_a_word_of_hers(hester: Database) -> None:
    def written(db: Writing) -> None:
        clients.change_client(db, 1, clients.ClientFacts("Hester Quill", "quill@example.org", "77", "Quill Lane", "Q"))
        a_commission(db)
        for commission in db.exec(select(Commission)):
            commission.state = "closed"

    _told(hester, written)
    erased = _told(hester, lambda db: client_data.erase(db, 1, 1, START), 1)
    assert ("data erased", "client", 1, "", 1) in erased
    with hester.reading() as db:
        said = [word for row in db.exec(select(Event)) for word in (row.before, row.after, row.reason)]
    assert [word for word in said if "uill" in word or "77" in word] == []
