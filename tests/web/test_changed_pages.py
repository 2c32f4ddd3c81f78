"""What changed since somebody last looked: what others did, until she says that she has seen it."""

import re
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import httpx2
from sqlmodel import select

from service.records.tables import LookedAt
from service.studio.standing import call_off
from tests.building import a_garment
from tests.counting import count, number, person, step, stitcher_id
from tests.giving import Giving, give
from tests.serving import OWNER, START, STITCHER, Live


def _changes(page: str) -> list[str]:
    """The sentences of the folded part without their marks: who did it at the end."""
    part = re.search(r'<details class="changed">.*?</details>', page, re.DOTALL)
    lines = re.findall(r'<li>(.*?) <span class="quiet">(.*?)</span></li>', part[0], re.DOTALL) if part else []
    words = [(re.sub(r"<[^>]+>", "", what), about) for what, about in lines]
    return [f"{what} {', '.join(about.split(', ')[:-2])}".strip() for what, about in words]


def test_what_others_did_stands_on_the_table_until_it_was_seen(
    live: Live, owner: httpx2.Client, stitcher: httpx2.Client, second: httpx2.Client
) -> None:
    now = datetime.now(UTC)
    with live.database.writing() as db:
        garment = number(a_garment(db, "handkerchief"))
        give(db, person(db, OWNER), Giving(garment, stitcher_id(db, STITCHER)), START)
        wren = person(db, STITCHER)
        for operation in ("cut_block", "wash"):
            count(db, wren, step(db, garment, operation), 1, now - timedelta(minutes=9), minutes=Decimal(10))
    (worked,) = _changes(owner.get("/").text)
    assert worked == "Handkerchief sampler Square: wash, 1 panel, and 1 other step. 20 min in all. Wren Hallam"
    assert "<summary>Changed in the last week: <b>1</b></summary>" in owner.get("/").text
    assert _changes(stitcher.get("/").text) == []
    assert _changes(second.get("/").text) == []
    until = re.findall(r'name="until" value="([^"]+)"', owner.get("/").text)[0]
    assert owner.post("/looked", data={"until": until}).headers["location"] == "/"
    assert _changes(owner.get("/").text) == []
    with live.database.writing() as db:
        call_off(db, garment, "the day was moved", person(db, OWNER).id, datetime.now(UTC))
    assert _changes(stitcher.get("/").text) == ["Handkerchief sampler called off. Ottilie Brook"]
    assert _changes(owner.get("/").text) == []


def test_looking_never_goes_back_nor_ahead_of_the_clock(live: Live, owner: httpx2.Client) -> None:
    owner.post("/looked", data={"until": "2099-01-01T00:00:00+00:00"})
    with live.database.reading() as db:
        first = db.exec(select(LookedAt)).one().at
    assert first <= datetime.now(UTC)
    for typed in ("2020-01-01T00:00:00+00:00", "0001-01-01T00:00:00+23:59", "yesterday"):
        assert owner.post("/looked", data={"until": typed}).status_code == 303
    with live.database.reading() as db:
        assert db.exec(select(LookedAt)).one().at >= first
