"""The studio's settings on their page."""

import httpx2
import pytest
from sqlmodel import select

from service.records.tables import Garment, Studio
from tests.building import a_garment
from tests.serving import Live

GOOD = {
    "name": "Larkfield",
    "time_zone": "Europe/Dublin",
    "currency": "EUR",
    "length_unit": "in",
    "count_unit": "in",
    "usual_minutes_a_day": "60",
}


def test_settings_are_kept_and_shown(owner: httpx2.Client, live: Live) -> None:
    assert owner.post("/settings", data=GOOD).status_code == 303
    page = owner.get("/settings").text
    assert 'value="Larkfield"' in page
    assert "synced to disk" in page
    assert "Connections that write" in page
    assert owner.get("/health").json()["writers"].startswith("one")
    with live.database.reading() as db:
        studio = db.exec(select(Studio)).one()
        assert (studio.currency, studio.count_unit, studio.usual_minutes_a_day) == ("EUR", "in", 60)


def test_a_shorter_day_asks_for_an_earlier_beginning(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        before = a_garment(db).start_by
    owner.post("/settings", data=GOOD)
    with live.database.reading() as db:
        assert db.exec(select(Garment)).one().start_by < before


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"name": " "}, "Enter the studio"),
        ({"time_zone": "Mars/Base"}, "Choose a time zone."),
        ({"currency": "XXZ"}, "Choose a currency."),
        ({"length_unit": "ell"}, "Choose a unit of length."),
        ({"usual_minutes_a_day": "0"}, "must be at least 1"),
        ({"usual_minutes_a_day": "1.5"}, "must be a whole number"),
    ],
)
def test_wrong_settings_change_nothing(owner: httpx2.Client, live: Live, typed: dict[str, str], sentence: str) -> None:
    answer = owner.post("/settings", data={**GOOD, **typed})
    assert answer.status_code == 422
    assert sentence in answer.text
    with live.database.reading() as db:
        assert db.exec(select(Studio)).one().name == "Larkfield Whitework"


def test_a_stitcher_changes_no_setting(stitcher: httpx2.Client) -> None:
    assert stitcher.get("/settings").status_code == 403
    assert stitcher.post("/settings", data=GOOD).status_code == 403
