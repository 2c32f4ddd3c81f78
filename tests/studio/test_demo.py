"""The demo studio: every state, two years of log in order, and the same scenario however often it is filled."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlmodel import col, func, select

from service.errors import Conflict
from service.records.db import Database, migrate, open_database
from service.records.tables import (
    Account,
    Cloth,
    Commission,
    Design,
    Event,
    Garment,
    Handover,
    HandoverPlace,
    Panel,
    Section,
    Step,
    Stitcher,
    Studio,
    Tally,
)
from service.records.tables.garments import GARMENT_STATES
from service.records.tables.handovers import HANDOVER_STATES
from service.studio.demo import DEMO_EMAILS, fill_or_refresh
from service.studio.proofs import prove
from service.studio.sign_in import is_password_of

AT = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Database]:
    """The demo studio in SQLite, filled once for the tests that only read it."""
    url = f"sqlite:///{tmp_path_factory.mktemp('demo') / 'studio.sqlite'}"
    migrate(url)
    database = open_database(url)
    fill_or_refresh(database, "linen and patience", 0, AT)
    yield database
    database.close()


def test_everything_that_must_hold_holds_on_the_demo(filled: Database) -> None:
    with filled.reading() as db:
        report = prove(db)
    assert report.faults == ()
    assert report.proved >= 3


def test_the_demo_has_garments_in_every_state_and_who_and_what_it_needs(filled: Database) -> None:
    with filled.reading() as db:
        assert set(db.exec(select(Garment.state))) == set(GARMENT_STATES)
        assert len(db.exec(select(Garment)).all()) == 13
        assert len(db.exec(select(Design)).all()) == 8
        assert len(db.exec(select(Cloth)).all()) == 6
        assert len(db.exec(select(Stitcher)).all()) == 3
        assert set(db.exec(select(Account.email))) == set(DEMO_EMAILS.values())
        assert set(db.exec(select(Commission.state))) == {"asked", "quoted", "agreed", "closed", "called off"}


def test_the_log_covers_nearly_two_years_and_ends_today(filled: Database) -> None:
    with filled.reading() as db:
        first, last = db.exec(select(func.min(Tally.at), func.max(Tally.at))).one()
        assert timedelta(days=600) < AT - first < timedelta(days=740)
        assert AT - last < timedelta(days=1)
        kinds = dict(db.exec(select(Tally.kind, func.count()).group_by(Tally.kind)).all())
        assert kinds["counter"] >= 1
        assert kinds["unpick"] >= 1
        assert kinds["work"] > 500
        actions = set(db.exec(select(Event.action)))
        assert {"given", "recounted", "overruled the order of work"} <= actions


def test_a_knot_step_is_begun_with_much_left_and_an_edge_stitching_waits_before_its_clip(filled: Database) -> None:
    with filled.reading() as db:
        knots = db.exec(
            select(Step.quantity_tenths - Step.done_tenths)
            .join(Garment, col(Garment.id) == Step.garment_id)
            .where(Garment.state == "in work", Step.unit == "knot", col(Step.done_tenths) > 0)
        ).all()
        assert max(knots) > 600
        begun = db.exec(
            select(Step.section_id).where(
                Step.operation == "edge_stitch",
                col(Step.done_tenths) > 0,
                col(Step.done_tenths) < col(Step.quantity_tenths),
            )
        ).all()
        clipped = db.exec(
            select(Step.done_tenths).where(Step.operation == "clip", col(Step.section_id).in_(begun))
        ).all()
        assert clipped == [0]


def test_pieces_lie_in_different_hands_and_one_on_the_shelf(filled: Database) -> None:
    with filled.reading() as db:
        open_ones = select(Panel.holder_id).join(Garment, col(Garment.id) == Panel.garment_id)
        holders = set(db.exec(open_ones.where(col(Garment.state).in_(("planned", "in work")))))
        assert None in holders
        assert len(holders) == 4
        assert db.exec(select(Garment.id).where(col(Garment.joined_at).is_not(None), Garment.state == "in work")).all()


def test_handovers_stand_in_every_state_and_one_stopped_in_the_middle_of_a_band(filled: Database) -> None:
    with filled.reading() as db:
        assert set(db.exec(select(Handover.state))) == set(HANDOVER_STATES)
        places = db.exec(select(HandoverPlace).where(col(HandoverPlace.next_number) > 1)).all()
        assert ("second edge, work turned", "right") in {(place.pass_words, place.from_end) for place in places}


def test_filling_again_only_gives_the_accounts_a_new_password(filled: Database) -> None:
    with filled.reading() as db:
        before = db.exec(select(func.count(col(Tally.id)))).one()
    fill_or_refresh(filled, "another made up one", 0, AT)
    with filled.reading() as db:
        assert db.exec(select(func.count(col(Tally.id)))).one() == before
        assert is_password_of(db, DEMO_EMAILS["tilly"], "another made up one") is not None
        assert is_password_of(db, DEMO_EMAILS["tilly"], "linen and patience") is None


def test_a_real_studio_is_never_filled_with_the_demo(sqlite_database: Database) -> None:
    with pytest.raises(Conflict, match="a real studio"):
        fill_or_refresh(sqlite_database, "linen and patience", 0, AT)
    with sqlite_database.reading() as db:
        assert db.exec(select(Studio.is_demo)).one() is False


@pytest.mark.parametrize("garments", [12])
def test_a_studio_for_measuring_has_its_size_and_holds_everything(bare_url: str, garments: int) -> None:
    migrate(bare_url)
    database = open_database(bare_url)
    fill_or_refresh(database, "linen and patience", garments, AT)
    with database.reading() as db:
        sizes = {table: db.exec(select(func.count(col(table.id)))).one() for table in (Garment, Section, Step, Tally)}
        assert list(sizes.values()) == [garments, garments * 8, garments * 40, garments * 100]
        assert set(db.exec(select(Garment.state))) == {"in work", "delivered"}
        assert prove(db).faults == ()
    with database.writing() as db:
        studio = db.exec(select(Studio)).one()
        assert studio.is_demo
        db.add(Tally.model_validate(db.exec(select(Tally)).first(), update={"id": None, "key": "one more"}))
    database.close()


def test_the_demo_is_written_in_readable_files_alone() -> None:
    folder = Path(__file__).resolve().parents[2] / "seed_data" / "demo"
    assert {path.suffix for path in folder.iterdir()} == {".toml"}
