"""The page of guesses: set, set back, refused at the field, and what the log says beside them."""

import html
import re
from datetime import timedelta
from decimal import Decimal

import httpx2
import pytest

from service.records.tables import Garment
from tests.building import a_garment
from tests.counting import count, number, person, step, work_on
from tests.giving import Giving, give
from tests.serving import OWNER, START, STITCHER, Live

PATH = "/settings/guesses"


def field(page: str, name: str) -> str:
    found = re.search(rf'name="seconds_{name}" type="text" value="([^"]*)"', page)
    assert found
    return found[1]


def words(page: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).replace("\xa0", " ").split())


def test_a_guess_is_set_used_and_set_back(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        garment_id = number(a_garment(db, "bib"))
        planned = db.get_one(Garment, garment_id).planned_ms
    asked = {"work": [{"operation": "ladder_knot", "quantity": 100, "threads_per_cm": 20}]}
    before = owner.post("/api/reckon/hours", json=asked).json()["hours"]["p50"]
    assert field(owner.get(PATH).text, "ladder_knot") == "20"
    posted = owner.post(PATH, data={"seconds_ladder_knot": "40", "seconds_lace": ""})
    kept = owner.get(posted.headers["location"])
    assert "The guesses are kept." in kept.text
    assert field(kept.text, "ladder_knot") == "40"
    assert "Back to 20 s for knot the edges" in words(kept.text)
    after = owner.post("/api/reckon/hours", json=asked).json()["hours"]["p50"]
    assert 1.7 < after / before < 2.1
    own_log = owner.post("/api/reckon/hours", json={**asked, "log": []}).json()["hours"]["p50"]
    assert own_log == before
    with live.database.reading() as db:
        assert db.get_one(Garment, garment_id).planned_ms > planned
    assert owner.post(PATH, data={"back": "ladder_knot"}).status_code == 303
    back = owner.get(PATH)
    assert field(back.text, "ladder_knot") == "20"
    assert "Back to" not in back.text


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("soon", "Enter the seconds for: clip as a number"),
        ("0", "Seconds for: clip must be at least 0.1."),
        ("-3", "Seconds for: clip must be at least 0.1."),
        ("36001", "Seconds for: clip must be at most 36,000."),
        ("NaN", "Enter the seconds for: clip as a number"),
    ],
)
def test_what_cannot_be_a_guess_is_said_at_its_field_and_nothing_is_kept(
    owner: httpx2.Client, typed: str, sentence: str
) -> None:
    refused = owner.post(PATH, data={"seconds_clip": typed, "seconds_lace": "50"})
    assert refused.status_code == 422
    assert sentence in refused.text
    assert (field(refused.text, "clip"), field(refused.text, "lace")) == (typed, "50")
    kept = owner.get(PATH).text
    assert (field(kept, "clip"), field(kept, "lace")) == ("3", "40")


def test_an_operation_that_is_none_is_not_set_back(owner: httpx2.Client) -> None:
    refused = owner.post(PATH, data={"back": "scrawl"})
    assert refused.status_code == 422
    assert "Choose one of the operations." in refused.text


def test_the_log_stands_beside_the_guesses(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        garment_id, hers = number(a_garment(db, "bib")), person(db, STITCHER)
        work_on(db, person(db, OWNER), garment_id, lambda row: row.operation == "ladder_knot")
        give(db, person(db, OWNER), Giving(garment_id, hers.stitcher_id), START)
        for day in range(2):
            count(db, hers, step(db, garment_id, "ladder_knot"), 10, START + timedelta(day), minutes=Decimal(10))
    told = words(owner.get(PATH).text)
    assert re.search(
        r"Knot the edges slower on finer cloth, by its standing threads s a knot 20 s \d+ to \d+ s 2 days", told
    )
    assert "Mostly guesses" in told


def test_only_the_owner_sees_the_guesses(stitcher: httpx2.Client) -> None:
    assert stitcher.get(PATH).status_code == 403
    assert stitcher.post(PATH, data={"seconds_clip": "4"}).status_code == 403
