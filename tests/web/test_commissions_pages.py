"""Commissions on their pages and as JSON."""

import re
from datetime import date

import httpx2
import pytest
from sqlmodel import select

from service.records.tables import Commission, Event, Garment
from tests.building import a_commission, a_garment
from tests.serving import Live

GOOD = {"title": "Christening of Ivy", "wanted_on": "2027-05-16", "is_over": "yes"}


@pytest.fixture
def client_id(owner: httpx2.Client) -> str:
    """A client of the studio."""
    return owner.post("/clients", data={"name": "Hester Vane"}).headers["location"].rpartition("/")[2]


def _kept(live: Live) -> list[Commission]:
    with live.database.reading() as db:
        return list(db.exec(select(Commission)))


def test_a_commission_written_down_stands_in_the_list_and_on_its_page(owner: httpx2.Client, client_id: str) -> None:
    answer = owner.post(
        "/commissions",
        data={**GOOD, "client": client_id, "child_sex": "girl", "child_born": "2027-01-02", "born_is_due": "yes"},
    )
    assert answer.status_code == 303, answer.text
    page = owner.get(answer.headers["location"]).text
    assert "girl, due 2 January 2027" in page
    assert "16 May 2027" in page
    assert '<p class="acts next-act"><a class="act" href="/commissions/1/make">Make a garment</a></p>' in page
    assert "What a trial would tell" not in page
    listed = owner.get("/commissions", params={"q": "ivy"}).text
    assert "Hester Vane" in listed
    assert "16 May 27" in listed


@pytest.mark.parametrize(
    ("child", "said"),
    [
        ({"child_born": "2026-10-01"}, "<dd>born 1 October 2026</dd>"),
        ({"child_sex": "boy"}, "<dd>boy</dd>"),
        ({}, "<dd>–</dd>"),
    ],
    ids=["without sex", "sex only", "nothing"],
)
def test_of_the_child_only_what_is_known_is_said(
    owner: httpx2.Client, client_id: str, child: dict[str, str], said: str
) -> None:
    answer = owner.post("/commissions", data={**GOOD, "client": client_id, **child})
    page = owner.get(answer.headers["location"]).text
    assert said in page.partition("<dt>Child</dt>")[2][:80]


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"client": ""}, "Enter a client."),
        ({"client": "999"}, "Choose a client."),
        ({"title": " "}, "Enter what it is called."),
        ({"wanted_on": ""}, "Enter the day it is wanted."),
        ({"wanted_on": "16.5.2027"}, "as year-month-day"),
        ({"wanted_on": "0027-05-16"}, "between the years 1900 and 2200"),
        ({"child_sex": "other"}, "Choose girl or boy."),
        ({"gestation_weeks": "60"}, "must be at most 44"),
        ({"gestation_weeks": "NaN"}, "Enter the weeks at birth as a number, like 12."),
        ({"gestation_weeks": "34.5"}, "must be a whole number"),
        ({"born_is_due": "yes"}, "Enter the day the child is due"),
        ({"wanted_on": "2020-01-01", "is_over": ""}, "This day is over. Correct it, or tick"),
        ({"child_born": "2131-01-01"}, "This day is still to come."),
        ({"child_born": "2131-01-01", "born_is_due": "yes"}, "No child is due as late as that."),
        ({"child_born": "2020-01-02", "wanted_on": "2020-01-01"}, "The child was born after this day."),
    ],
)
def test_wrong_input_comes_back_at_the_field_and_nothing_is_kept(
    owner: httpx2.Client, live: Live, client_id: str, typed: dict[str, str], sentence: str
) -> None:
    answer = owner.post("/commissions", data={**GOOD, "client": client_id, "notes": "as <typed>", **typed})
    assert answer.status_code == 422
    assert sentence in answer.text
    assert "as &lt;typed&gt;" in answer.text
    assert _kept(live) == []


def test_a_new_day_goes_to_the_garments_too(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        garment = a_garment(db)
        path, client, before = f"/commissions/{garment.commission_id}", 1, garment.start_by
    moved = owner.post(f"{path}/change", data={**GOOD, "client": str(client), "wanted_on": "2027-06-16"})
    assert moved.status_code == 303, moved.text
    with live.database.reading() as db:
        now = db.exec(select(Garment)).one()
        assert now.wanted_on == date(2027, 6, 16)
        assert (now.start_by - before).days == 31


def test_a_commission_moves_through_its_states_and_not_past_them(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        path = f"/commissions/{a_commission(db, state='asked').id}"
    assert owner.post(f"{path}/move", data={"state": "closed"}).status_code == 409
    for state in ("quoted", "agreed", "closed"):
        assert owner.post(f"{path}/move", data={"state": state}).status_code == 303
    assert _kept(live)[0].state == "closed"


def test_calling_off_takes_its_garments_along_and_keeps_the_reason(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        path = f"/commissions/{a_garment(db).commission_id}"
    without = owner.post(f"{path}/call-off", data={"reason": ""})
    assert without.status_code == 422
    assert "Enter the reason." in without.text
    assert owner.post(f"{path}/call-off", data={"reason": "The family moved away"}).status_code == 303
    with live.database.reading() as db:
        assert db.exec(select(Garment.state)).one() == "called off"
        told = select(Event.object_kind, Event.reason).where(Event.action == "called off")
        reasons = db.exec(told.order_by(Event.object_kind)).all()
        assert reasons == [("commission", "The family moved away"), ("garment", "The family moved away")]
    assert "Christening" not in owner.get("/commissions").text
    assert "Christening" in owner.get("/commissions?over=true").text


def test_long_lists_go_on_further(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        for day in range(1, 29):
            for month in (6, 7):
                a_commission(db, date(2027, month, day))
    first = owner.get("/commissions").text
    assert "Further" in first
    after = first.split("after=")[1].split("&")[0]
    second = owner.get("/commissions", params={"after": after}).text
    assert "Further" not in second
    assert len(re.findall(r'href="/commissions/\d', first + second)) == 56


def test_scripts_read_the_open_commissions(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        number = a_garment(db).commission_id
    assert owner.get("/api/commissions").json() == [
        {
            "id": number,
            "title": "Christening of Ivy",
            "client": "Hester Vane",
            "wanted_on": "2027-05-16",
            "state": "agreed",
            "garments": 1,
        }
    ]


def test_a_stitcher_sees_no_commission(stitcher: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        path = f"/commissions/{a_commission(db).id}"
    for address in ("/commissions", path, f"{path}/change", "/api/commissions"):
        answer = stitcher.get(address)
        assert answer.status_code == 403
        assert "Hester" not in answer.text


def test_a_day_that_is_over_is_asked_about_once_and_not_again_when_something_else_is_changed(
    owner: httpx2.Client, client_id: str
) -> None:
    asked = {**GOOD, "client": client_id, "wanted_on": "2020-01-01"}
    assert 'name="is_over"' in owner.post("/commissions", data={**asked, "is_over": ""}).text
    path = owner.post("/commissions", data=asked).headers["location"]
    assert owner.post(f"{path}/change", data={**asked, "is_over": "", "title": "Renamed"}).status_code == 303
    moved = owner.post(f"{path}/change", data={**asked, "is_over": "", "wanted_on": "2020-02-01"})
    assert (moved.status_code, "This day is over." in moved.text) == (422, True)
