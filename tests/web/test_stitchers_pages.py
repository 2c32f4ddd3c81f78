"""Stitchers on their pages: hours, days away, accounts, leaving; a stitcher's own page."""

from contextlib import closing

import httpx2
import pytest
from sqlmodel import select

from service.records.tables import Account, LoginSession, Panel, Stitcher, StitcherAway
from service.web.forms import Form
from tests.building import a_garment
from tests.serving import STITCHER, Live

WEEK = {"hours_mon": "1.5", "hours_tue": "2", "hours_sat": "0.25"}


def test_the_hours_of_a_week_are_not_rounded_as_guesses_are(owner: httpx2.Client) -> None:
    owner.post("/stitchers", data={"name": "Nan Pell", **{f"hours_{day}": "4.5" for day in ("mon", "tue", "wed")}})
    assert "13.5 h" in owner.get("/stitchers").text
    assert "13.5 h" in owner.get("/diary").text


def _stitcher(live: Live, name: str = "Wren Hallam") -> Stitcher:
    with live.database.reading() as db:
        return db.exec(select(Stitcher).where(Stitcher.name == name)).one()


def test_a_stitcher_written_down_stands_with_her_hours(owner: httpx2.Client, live: Live) -> None:
    answer = owner.post("/stitchers", data={"name": "Nan Pell", "pay": "14.50", **WEEK})
    assert answer.status_code == 303, answer.text
    page = owner.get(answer.headers["location"]).text
    assert "1½ h" in page
    assert "£14.50" in page
    kept = _stitcher(live, "Nan Pell")
    assert (kept.minutes_mon, kept.minutes_tue, kept.minutes_sat, kept.minutes_sun) == (90, 120, 15, 0)
    assert kept.pay_minor_per_hour == 1450
    listed = owner.get("/stitchers").text
    assert "Nan Pell" in listed
    assert "3.75 h" in listed


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"name": ""}, "Enter a name."),
        ({"hours_mon": "25"}, "must be at most 24"),
        ({"hours_mon": "-1"}, "must be at least 0"),
        ({"hours_mon": "two"}, "as a number"),
        ({"pay": "1.234"}, "more decimals than GBP allows"),
        ({"pay": "1e400"}, "as a number"),
    ],
)
def test_wrong_input_comes_back_and_nothing_is_kept(
    owner: httpx2.Client, live: Live, typed: dict[str, str], sentence: str
) -> None:
    answer = owner.post("/stitchers", data={"name": "Nan Pell", "notes": "as typed", **typed})
    assert answer.status_code == 422
    assert sentence in answer.text
    assert "as typed" in answer.text
    with live.database.reading() as db:
        assert len(db.exec(select(Stitcher)).all()) == 3


def test_days_away_are_written_down_and_taken_back(owner: httpx2.Client, live: Live) -> None:
    path = f"/stitchers/{_stitcher(live).id}"
    wrong = owner.post(f"{path}/away", data={"first_day": "2027-05-10", "last_day": "2027-05-01"})
    assert wrong.status_code == 422
    assert "must not lie before the first" in wrong.text
    owner.post(f"{path}/away", data={"first_day": "2027-05-01", "last_day": "2027-05-10", "note": "seaside"})
    page = owner.get(path).text
    assert "1 May 2027 to 10 May 2027, seaside" in page
    with live.database.reading() as db:
        away = db.exec(select(StitcherAway)).one()
    undone = owner.post(f"{path}/away/{away.id}/remove", follow_redirects=True).text
    assert 'name="note" value="seaside"' in undone
    assert "seaside" not in owner.get(path).text


@pytest.mark.parametrize(
    ("typed", "minutes"), [("3:30", 210), ("3 1/2", 210), ("3½", 210), ("0:45", 45), ("24:00", 1440), ("3.25", 195)]
)
def test_hours_are_read_as_a_clock_says_them_and_as_fractions(typed: str, minutes: int) -> None:
    form = Form({"hours": typed})
    assert (form.minutes_of_day("hours", called="the hours"), form.wrong) == (minutes, False)


@pytest.mark.parametrize("typed", ["24:01", "24 1/2", "3:75", "3:5", "half"])
def test_hours_that_no_day_has_are_refused(typed: str) -> None:
    form = Form({"hours": typed})
    assert (form.minutes_of_day("hours", called="the hours"), form.wrong) == (0, True)


def test_a_stitcher_keeps_her_own_hours_and_no_one_elses(stitcher: httpx2.Client, live: Live) -> None:
    assert stitcher.post("/stitchers/me/hours", data=WEEK).status_code == 303
    assert _stitcher(live).minutes_mon == 90
    assert 'value="1.5"' in stitcher.get("/stitchers/me").text
    other = _stitcher(live, "Ida Thorne").id
    assert stitcher.post(f"/stitchers/{other}/change", data={"name": "Hacked"}).status_code == 403
    assert stitcher.get(f"/stitchers/{other}").status_code == 403


def test_a_stitcher_cannot_take_back_another_ones_days_away(
    owner: httpx2.Client, stitcher: httpx2.Client, live: Live
) -> None:
    owner.post(f"/stitchers/{_stitcher(live, 'Ida Thorne').id}/away", data={"first_day": "2027-05-01"})
    with live.database.reading() as db:
        away = db.exec(select(StitcherAway)).one()
    assert stitcher.post(f"/stitchers/me/away/{away.id}/remove").status_code == 404


def test_a_new_account_signs_in_by_its_link_until_it_is_switched_off(owner: httpx2.Client, live: Live) -> None:
    path = owner.post("/stitchers", data={"name": "Nan Pell"}).headers["location"]
    taken = owner.post(f"{path}/account", data={"email": STITCHER})
    assert taken.status_code == 422
    assert "Somebody signs in with that e-mail address already." in taken.text
    made = owner.post(f"{path}/account", data={"email": "Nan@Studio.example"}, follow_redirects=True)
    link = made.text.split('id="f-link" value="')[1].split('"')[0]
    with closing(live.visitor()) as nan:
        assert nan.post(link, data={"password": "nine more threads"}).headers["location"] == "/login"
        signed = nan.post("/login", data={"email": "nan@studio.example", "password": "nine more threads"})
        assert signed.status_code == 303
        assert nan.get("/stitchers/me").status_code == 200
        owner.post(f"{path}/account/switch", data={})
        assert nan.get("/stitchers/me").status_code == 303


def test_a_stitcher_who_holds_a_piece_cannot_leave_before_it_is_given_on(owner: httpx2.Client, live: Live) -> None:
    wren = _stitcher(live)
    with live.database.writing() as db:
        garment = a_garment(db)
        for panel in db.exec(select(Panel).where(Panel.garment_id == garment.id)):
            panel.holder_id = wren.id
            db.add(panel)
        name = garment.name
    refused = owner.post(f"/stitchers/{wren.id}/leave", data={"left_on": "2026-11-01"})
    assert refused.status_code == 409
    assert f"still holds {name}" in refused.text
    assert "<details open><summary>She leaves the studio" in refused.text
    assert 'name="left_on" type="date" value="2026-11-01"' in refused.text
    assert _stitcher(live).left_on is None
    with live.database.writing() as db:
        for panel in db.exec(select(Panel)):
            panel.holder_id = None
            db.add(panel)
    assert owner.post(f"/stitchers/{wren.id}/leave", data={"left_on": "2026-11-01"}).status_code == 303
    assert "Wren Hallam" not in owner.get("/stitchers").text
    assert "Wren Hallam" in owner.get("/stitchers?left=true").text
    with live.database.reading() as db:
        account = db.exec(select(Account).where(Account.email == STITCHER)).one()
        assert not account.active
        open_sessions = select(LoginSession).where(LoginSession.account_id == account.id, LoginSession.ended_at == None)  # noqa: E711
        assert db.exec(open_sessions).all() == []
