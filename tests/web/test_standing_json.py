"""Where the garments stand, over JSON, on both kinds of database."""

from contextlib import closing

import pytest

from service.records.tables import Garment
from tests.building import a_garment
from tests.serving import OWNER, Live


def _made(live: Live, key: str = "day_gown") -> int:
    with live.database.writing() as db:
        garment = a_garment(db, key)
        assert garment.id is not None
        return garment.id


def test_an_open_garment_stands_with_what_is_left_and_what_comes_next(live_on_each: Live) -> None:
    garment_id = _made(live_on_each)
    with closing(live_on_each.signed_in(OWNER)) as owner:
        (row,) = owner.get("/api/standing").json()
    with live_on_each.database.reading() as db:
        garment = db.get_one(Garment, garment_id)
    assert set(row) == {
        "id",
        "name",
        "state",
        "done_fraction",
        "hours_left",
        "ready_by",
        "expected",
        "chance_in_time",
        "hands",
        "next_step",
    }
    assert (row["id"], row["name"], row["done_fraction"], row["hands"]) == (garment_id, garment.name, 0.0, [])
    assert row["hours_left"]["p50"] == pytest.approx(garment.left_ms / 3_600_000)
    assert row["hours_left"]["p80"] > row["hours_left"]["p50"]
    assert row["ready_by"] == "2027-05-16"
    assert row["next_step"]["operation"] == "cut_block"
