"""Small kindnesses: one press undone on the next page, lists and histories as files, a way on from every refusal."""

import csv
import re
from datetime import UTC, date, datetime
from decimal import Decimal
from io import StringIO

import httpx2
import pytest
from sqlmodel import select

from service.records.tables import ChildMeasure, Client, Cloth, Commission, StitcherAway
from service.studio.stitchers import add_days_away
from tests.building import a_cloth, a_commission, a_garment
from tests.counting import count, number, person, step, stitcher_id
from tests.giving import Giving, give
from tests.serving import OWNER, START, STITCHER, Live


def _undo(page: str) -> tuple[str, dict[str, str]] | None:
    """Where the offer to undo is sent, with its fields."""
    found = re.search(
        r'<form class="undo" aria-label="What was just done" method="post" action="([^"]+)">(.*?)</form>',
        page,
        re.DOTALL,
    )
    if found is None:
        return None
    return found[1], dict(re.findall(r'name="([^"]+)" value="([^"]*)"', found[2]))


def _rows(answer: httpx2.Response) -> list[list[str]]:
    assert answer.headers["content-type"] == "text/csv; charset=utf-8"
    return list(csv.reader(StringIO(answer.text.removeprefix("\ufeff"))))


def test_what_was_put_away_comes_back_with_one_press_on_the_next_page_alone(
    live: Live, owner: httpx2.Client, stitcher: httpx2.Client
) -> None:
    with live.database.writing() as db:
        a_cloth(db)
    owner.post("/cloth/1/put-away", data={"away": "yes"})
    assert _undo(stitcher.get("/cloth/1").text) is None
    offered = _undo(owner.get("/cloth/1").text)
    assert offered == ("/cloth/1/put-away", {})
    assert _undo(owner.get("/cloth/1").text) is None
    owner.post(offered[0], data=offered[1])
    assert _undo(owner.get("/cloth/1").text) is None
    with live.database.reading() as db:
        assert db.exec(select(Cloth.put_away)).one() is False


def test_days_away_and_a_childs_reading_taken_out_come_back_as_they_were(live: Live, owner: httpx2.Client) -> None:
    days = (date(2099, 3, 1), date(2099, 3, 4), "by the <sea>")
    with live.database.writing() as db:
        me = stitcher_id(db, OWNER)
        add_days_away(db, me, *days)
        commission = a_commission(db)
        commission.child_sex, commission.child_born = "girl", date(2026, 6, 1)
        db.add(commission)
        db.add(ChildMeasure(commission_id=1, what="length", value_um=611_250, on=date(2026, 8, 1)))
    for path in ("/stitchers/me/away/1/remove", "/commissions/1/fit/1/remove"):
        offered = _undo(owner.post(path, follow_redirects=True).text)
        assert offered is not None
        fields = {name: value.replace("&lt;", "<").replace("&gt;", ">") for name, value in offered[1].items()}
        assert owner.post(offered[0], data=fields).status_code == 303
    with live.database.reading() as db:
        away = db.exec(select(StitcherAway)).one()
        assert (away.first_day, away.last_day, away.note) == days
        assert db.exec(select(ChildMeasure.value_um)).one() == 611_250


def test_a_history_is_a_file_for_whoever_may_see_it(
    live: Live, owner: httpx2.Client, stitcher: httpx2.Client, second: httpx2.Client
) -> None:
    at = datetime(2026, 11, 2, 9, 30, tzinfo=UTC)
    with live.database.writing() as db:
        garment = number(a_garment(db, "handkerchief"))
        give(db, person(db, OWNER), Giving(garment, stitcher_id(db, STITCHER)), START)
        count(db, person(db, STITCHER), step(db, garment, "cut_block"), 1, at, minutes=Decimal(12), reason="=1+1")
    rows = _rows(stitcher.get(f"/garments/{garment}/history.csv"))
    assert rows[0] == ["day", "time", "who", "what", "part", "counted", "unit", "minutes", "why"]
    worked = ["2026-11-02", "09:30", "Wren Hallam", "cut the block", "Square", "1", "panel", "12.00", "'=1+1"]
    assert worked in rows
    assert ["Square: from the shelf to Wren Hallam"] in [row[3:4] for row in rows]
    assert second.get(f"/garments/{garment}/history.csv").status_code == 404
    assert f'href="/garments/{garment}/history.csv"' in owner.get(f"/garments/{garment}/history").text


def test_clients_and_commissions_are_files_for_the_owner_alone(
    live: Live, owner: httpx2.Client, stitcher: httpx2.Client
) -> None:
    with live.database.writing() as db:
        a_garment(db, "handkerchief")
        db.add(Client(name="Ivy, the elder", put_away=True, created_at=START))
        db.add(Commission(client_id=1, title="Over", wanted_on=date(2025, 1, 1), state="closed", created_at=START))
    people = _rows(owner.get("/clients/list.csv"))
    assert [row[1:2] + row[5:] for row in people[1:]] == [["Hester Vane", ""], ["Ivy, the elder", "put away"]]
    work = _rows(owner.get("/commissions/list.csv"))
    assert [row[1:6] for row in work[1:]] == [
        ["Over", "Hester Vane", "2025-01-01", "closed", "0"],
        ["Christening of Ivy", "Hester Vane", "2027-05-16", "agreed", "1"],
    ]
    for path in ("/clients/list.csv", "/commissions/list.csv"):
        assert stitcher.get(path).status_code == 403


@pytest.mark.parametrize(
    ("referer", "back"),
    [
        ("{url}/clients?q=ivy", "/clients?q=ivy"),
        ("http://elsewhere.example/clients", None),
        ("{url}//elsewhere.example", None),
        ("{url}/clients/99", None),
        ("", None),
    ],
)
def test_a_refusal_leads_back_to_the_page_before_it_and_never_elsewhere(
    live: Live, owner: httpx2.Client, referer: str, back: str | None
) -> None:
    page = owner.get("/clients/99", headers={"Referer": referer.format(url=live.url)})
    assert page.status_code == 404
    assert re.findall(r'href="([^"]+)">Back to the page before', page.text) == ([back] if back else [])
    assert '<a href="/find">Find it by name</a>' in page.text


def test_lists_without_anything_put_away_say_so(owner: httpx2.Client) -> None:
    assert "Nobody is put away." in owner.get("/clients?away=true").text
    assert "No supply is put away." in owner.get("/supplies?away=true").text
    assert "Quotes that were sent wait here for a yes." in owner.get("/quotes").text
