"""Sessions hold what they promise on both kinds of database."""

import threading
from datetime import UTC, datetime, timedelta, timezone

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError, IntegrityError
from sqlmodel import select

from service.records.db import Database
from service.records.tables import Client, Cloth, Studio
from service.records.tables.columns import Instant

AT = datetime(2026, 10, 1, 12, 0, tzinfo=UTC)


def _cloth(name: str = "Batiste") -> Cloth:
    return Cloth(name=name, fibre="cotton", width_um=1_400_000, on_hand_um=0, created_at=AT)


def test_returning_commits_and_raising_rolls_back(database: Database) -> None:
    with database.writing() as db:
        db.add(_cloth("kept"))

    def fail() -> None:
        with database.writing() as db:
            db.add(_cloth("lost"))
            db.flush()
            raise LookupError

    with pytest.raises(LookupError):
        fail()
    with database.reading() as reads:
        assert [cloth.name for cloth in reads.exec(select(Cloth))] == ["kept"]


def test_a_reading_session_cannot_write(database: Database) -> None:
    def write() -> None:
        with database.reading() as db:
            db.add(_cloth())
            db.flush()

    with pytest.raises(DBAPIError):
        write()


def test_a_reading_session_sees_one_snapshot(database: Database) -> None:
    with database.reading() as reads:
        assert reads.exec(select(Client)).all() == []
        with database.writing() as db:
            db.add(Client(name="Nell", created_at=AT))
        assert reads.exec(select(Client)).all() == []


def test_cloth_on_hand_never_goes_below_zero(database: Database) -> None:
    def overdraw() -> None:
        with database.writing() as db:
            cloth = _cloth()
            cloth.on_hand_um = -1
            db.add(cloth)

    with pytest.raises(IntegrityError, match="on_hand_um_at_least"):
        overdraw()


def test_references_are_enforced(database: Database) -> None:
    def dangle() -> None:
        with database.writing() as db:
            db.connection().execute(
                text(
                    "insert into stitcher_away (stitcher_id, first_day, last_day, note)"
                    " values (9999, '2026-01-01', '2026-01-02', '')"
                )
            )

    with pytest.raises(IntegrityError):
        dangle()


def test_there_is_only_one_studio(database: Database) -> None:
    def second() -> None:
        with database.writing() as db:
            db.add(Studio(id=2, name="Another", created_at=AT))

    with pytest.raises(IntegrityError):
        second()


def test_instants_come_back_in_utc(database: Database) -> None:
    local = datetime(2026, 10, 1, 14, 0, tzinfo=timezone(timedelta(hours=2)))
    with database.writing() as db:
        db.add(Client(name="Nell", created_at=local))
    with database.reading() as reads:
        assert reads.exec(select(Client)).one().created_at == AT


def test_an_instant_without_a_zone_is_refused(database: Database) -> None:
    with pytest.raises(ValueError, match="needs its time zone"):
        Instant().process_bind_param(datetime(2026, 1, 1), database.writer.dialect)  # noqa: DTZ001


def test_many_writers_at_once_lose_nothing(database: Database) -> None:
    with database.writing() as db:
        cloth = _cloth()
        db.add(cloth)
        db.flush()
        cloth_id = cloth.id

    def add_often() -> None:
        for _ in range(25):
            with database.writing() as db:
                found = db.exec(select(Cloth).where(Cloth.id == cloth_id).with_for_update()).one()
                found.on_hand_um += 1
                db.add(found)

    threads = [threading.Thread(target=add_often) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with database.reading() as reads:
        assert reads.exec(select(Cloth.on_hand_um)).one() == 200
