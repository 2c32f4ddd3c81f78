"""Answers kept with a garment and readings of a commission's child, on both kinds of database."""

from datetime import date, timedelta

import pytest
from sqlalchemy.exc import IntegrityError
from sqlmodel import select

from service.errors import Conflict, NotFound
from service.reckoning.asked import Wrong
from service.records.db import Database
from service.records.queries.kept import MOST_KEPT, kept_of
from service.records.tables import ChildMeasure, Commission, KeptResult
from service.studio.child import MOST_READINGS, NewReading, add_measure, fit_of, measures_of, remove_measure
from service.studio.kept import MOST_LETTERS, Keeping, keep_result
from tests.building import a_commission, a_garment
from tests.serving import START

BORN = date(2026, 8, 15)
LENGTH = NewReading("length", 620_000, BORN + timedelta(days=91))


def keeping(garment_id: int | None, told: str = "Cut the block 34.4 cm wide.", **asked: str) -> Keeping:
    assert garment_id is not None
    return Keeping(garment_id, "tucks", asked or {"tucks": "16"}, told, (("Block", "344 mm"),))


def a_girls(commission: Commission) -> Commission:
    commission.child_sex, commission.child_born = "girl", BORN
    return commission


def test_kept_answers_come_back_newest_first_and_only_so_many(database: Database) -> None:
    with database.writing() as db:
        garment = a_garment(db)
        for at in range(MOST_KEPT + 2):
            keep_result(db, keeping(garment.id, f"answer {at}"), 1, START + timedelta(minutes=at))
        number = garment.id or 0
    with database.reading() as db:
        lines = kept_of(db, number)
    assert len(lines) == MOST_KEPT
    assert (lines[0].told, lines[0].who) == (f"answer {MOST_KEPT + 1}", "Ottilie Brook")
    assert lines[0].href == f"/reckoner/tucks?tucks=16&garment={number}"
    assert lines[0].figures == (("Block", "344 mm"),)


@pytest.mark.parametrize("state", ["delivered", "called off"])
def test_nothing_is_kept_with_a_garment_that_is_gone(database: Database, state: str) -> None:
    with database.writing() as db:
        garment = a_garment(db)
        garment.state = state
        db.add(garment)
        with pytest.raises(Conflict, match=f"This garment is {state}"):
            keep_result(db, keeping(garment.id), 1, START)
        with pytest.raises(NotFound):
            keep_result(db, keeping(999), 1, START)
        assert db.exec(select(KeptResult)).all() == []


def test_too_much_is_not_kept(database: Database) -> None:
    with database.writing() as db:
        garment = a_garment(db)
        with pytest.raises(Conflict, match="ask for less"):
            keep_result(db, keeping(garment.id, tucks="9" * MOST_LETTERS), 1, START)


def test_a_reading_carries_the_child_to_the_day(database: Database) -> None:
    # WHO tables and van Buuren 2023, Table 2: 62.0 cm at day 91 carried to day 274, worked by hand.
    with database.writing() as db:
        commission = a_girls(a_commission(db, BORN + timedelta(days=274)))
        measure = add_measure(db, commission, LENGTH)
        assert (measure.value_um, measure.value_g) == (620_000, None)
        fit = fit_of(commission, measures_of(db, commission.id or 0))
        assert fit.length_mm.middle == pytest.approx(720.4, abs=0.5)
        remove_measure(db, commission.id or 0, measure.id or 0)
        assert measures_of(db, commission.id or 0) == []


def test_a_reading_is_removed_by_its_own_commission_alone(database: Database) -> None:
    with database.writing() as db:
        commission = a_girls(a_commission(db, BORN + timedelta(days=274)))
        other = a_commission(db)
        measure = add_measure(db, commission, LENGTH)
        with pytest.raises(NotFound):
            remove_measure(db, other.id or 0, measure.id or 0)
        assert len(measures_of(db, commission.id or 0)) == 1


def test_what_cannot_be_a_reading_is_not_kept(database: Database) -> None:
    with database.writing() as db:
        commission = a_girls(a_commission(db, BORN + timedelta(days=274)))
        with pytest.raises(Wrong, match="take this reading again"):
            add_measure(db, commission, NewReading("length", 62_000, LENGTH.on))
        assert measures_of(db, commission.id or 0) == []


def test_only_so_many_readings_are_kept(database: Database) -> None:
    with database.writing() as db:
        commission = a_girls(a_commission(db, BORN + timedelta(days=274)))
        for _ in range(MOST_READINGS):
            add_measure(db, commission, LENGTH)
        with pytest.raises(Conflict, match="remove those that are not needed"):
            add_measure(db, commission, LENGTH)


@pytest.mark.parametrize(
    ("what", "value_um", "value_g"),
    [("length", None, 6400), ("weight", 620_000, None), ("length", None, None), ("chest", 400_000, None)],
)
def test_the_database_holds_a_reading_to_its_unit(
    database: Database, what: str, value_um: int | None, value_g: int | None
) -> None:
    with database.writing() as db:
        number = a_commission(db).id or 0
    measure = ChildMeasure(commission_id=number, what=what, value_um=value_um, value_g=value_g, on=BORN)
    with pytest.raises(IntegrityError):
        _add(database, measure)
    with database.reading() as db:
        assert db.exec(select(ChildMeasure)).all() == []


def _add(database: Database, measure: ChildMeasure) -> None:
    with database.writing() as db:
        db.add(measure)
