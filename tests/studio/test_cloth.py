"""The cloth shelf: readings, counts, what came and what went, on both databases."""

from datetime import UTC, datetime

import pytest

from service.errors import NotFound
from service.reckoning.designs import ClothCounts
from service.records.db import Database
from service.records.tables import Cloth, ClothReading
from service.studio.cloth import CountsNow, counts_have_moved, current_counts

AT = datetime(2026, 9, 2, 10, 0, tzinfo=UTC)


def _linen(database: Database) -> int:
    with database.writing() as db:
        cloth = Cloth(name="Fine linen", fibre="linen", width_um=1_500_000, created_at=AT)
        db.add(cloth)
        db.flush()
        assert cloth.id is not None
        return cloth.id


def test_counts_are_the_mean_of_the_readings_not_set_aside(database: Database) -> None:
    cloth_id = _linen(database)
    with database.writing() as db:
        for system, threads, aside in (("warp", 100, False), ("warp", 104, False), ("warp", 150, True)):
            row = ClothReading(
                cloth_id=cloth_id, system=system, threads=threads, over_um=50_000, set_aside=aside, read_at=AT
            )
            db.add(row)
    with database.reading() as db:
        now = current_counts(db, cloth_id)
    assert now.warp is not None
    assert now.warp.threads_per_cm == pytest.approx(20.4)
    assert now.warp.places == 2
    assert now.weft is None


def test_counts_of_no_cloth_are_refused(database: Database) -> None:
    with database.reading() as db, pytest.raises(NotFound, match="There is no such cloth"):
        current_counts(db, 999)


def test_a_plan_on_a_cloth_not_counted_again_has_not_moved() -> None:
    assert counts_have_moved(ClothCounts(20, 19), CountsNow(None, None)) is None
