"""The second step on its pages: set, asked for at the door, asked of everybody, turned off."""

import re
from contextlib import closing
from datetime import UTC, datetime, timedelta

import httpx2
import pyotp
import pytest
from sqlmodel import select

from service.records.tables import LoginSession, SecondStep
from service.studio import second_step
from service.web.deps import PLAIN_COOKIE
from tests.counting import person
from tests.serving import OWNER, PASSWORD, STITCHER, Live

LONG_AGO = datetime(2026, 1, 1, tzinfo=UTC)


def _phone(live: Live, email: str) -> tuple[pyotp.TOTP, list[str]]:
    """A second step set long ago: the phone that shows its codes, and the recovery codes."""
    with live.database.writing() as db:
        account_id = person(db, email).id
        phone = pyotp.TOTP(second_step.begin(db, account_id, LONG_AGO).secret)
        return phone, second_step.confirm(db, account_id, phone.at(LONG_AGO), LONG_AGO)


def test_it_is_set_by_a_picture_and_a_first_code_and_ends_the_other_browsers(
    stitcher: httpx2.Client, live: Live
) -> None:
    with closing(live.signed_in(STITCHER)) as elsewhere:
        picture = stitcher.post("/account/second-step/begin", follow_redirects=True).text
        assert '<svg xmlns="http://www.w3.org/2000/svg" class="qr"' in picture
        secret = re.findall(r'id="secret">([A-Z2-7 ]+)</span>', picture)[0].replace(" ", "")
        wrong = stitcher.post("/account/second-step/confirm", data={"code": "1"})
        assert wrong.status_code == 422
        assert "not the code of this moment" in wrong.text
        code = pyotp.TOTP(secret).now()
        done = stitcher.post("/account/second-step/confirm", data={"code": code}, follow_redirects=True)
        assert len(re.findall(r"([a-z2-7]{4}-){5}[a-z2-7]{4}", done.text)) == 8
        assert elsewhere.get("/").status_code == 303
    assert "8 recovery codes are left" in stitcher.get("/account").text
    assert stitcher.post("/account/second-step/begin").status_code == 409


def test_signing_in_asks_for_the_code_before_anything_opens(live: Live) -> None:
    phone, codes = _phone(live, STITCHER)
    typed = {"email": STITCHER, "password": PASSWORD, "next": "/cloth"}
    with closing(live.visitor()) as browser:
        asked = browser.post("/login", data=typed, follow_redirects=True)
        assert asked.status_code == 200
        assert "The code from your phone" in asked.text
        half = browser.cookies[PLAIN_COOKIE]
        for path in ("/", "/stitchers/me", "/account"):
            assert browser.get(path).headers["location"] == f"/login?next={path}"
        assert browser.get("/api/standing").status_code == 401
        assert "The code from your phone" in browser.get("/login/code").text
        wrong = browser.post("/login/code", data={"code": "12", "next": "/cloth"})
        assert wrong.status_code == 422
        code = phone.now()
        let_in = browser.post("/login/code", data={"code": code, "next": "/cloth"})
        assert (let_in.status_code, let_in.headers["location"]) == (303, "/cloth")
        assert browser.cookies[PLAIN_COOKIE] != half
        assert browser.get("/cloth").status_code == 200
    with closing(live.visitor()) as thief:
        thief.cookies.set(PLAIN_COOKIE, half)
        assert thief.post("/login/code", data={"code": codes[0]}).status_code == 422
    with closing(live.visitor()) as second:
        second.post("/login", data=typed)
        assert second.post("/login/code", data={"code": code}).status_code == 422  # used up
        assert second.post("/login/code", data={"code": codes[0]}).status_code == 303


def test_codes_cannot_be_ground_down_and_half_a_sign_in_ends_soon(live: Live) -> None:
    _phone(live, STITCHER)
    with closing(live.visitor()) as browser:
        browser.post("/login", data={"email": STITCHER, "password": PASSWORD})
        statuses = [browser.post("/login/code", data={"code": f"{n}"}).status_code for n in range(6)]
        assert statuses == [422] * 5 + [429]
        with live.database.reading() as db:
            (session,) = db.exec(select(LoginSession)).all()
            assert session.waits_for_code
            assert session.ends_at - session.created_at == timedelta(minutes=10)
        assert browser.get("/login/code").status_code == 200
    with closing(live.visitor()) as stranger:
        assert stranger.get("/login/code").headers["location"] == "/login"


def test_asked_of_everybody_it_is_set_before_anything_else_opens(
    owner: httpx2.Client, stitcher: httpx2.Client, live: Live
) -> None:
    ask = ("/settings/accounts/second-step", {"needed": "yes"})
    assert owner.post(ask[0], data=ask[1]).status_code == 409  # her own first
    _phone(live, OWNER)
    assert owner.post(ask[0], data=ask[1]).status_code == 303
    assert owner.get("/clients").status_code == 200
    for path in ("/", "/cloth", "/account"):
        assert stitcher.get(path).headers["location"] == "/account/second-step"
    assert stitcher.post("/sign-out").status_code == 303
    with closing(live.signed_in(STITCHER)) as again:
        refused = again.get("/api/standing")
        assert (refused.status_code, refused.headers["content-type"]) == (401, "application/problem+json")
        assert "asks everybody for a second step" in again.get("/account/second-step").text
        again.post("/account/second-step/begin")
        with live.database.reading() as db:
            secret = db.exec(select(SecondStep.secret).where(SecondStep.account_id == person(db, STITCHER).id)).one()
        again.post("/account/second-step/confirm", data={"code": pyotp.TOTP(secret).now()})
        assert again.get("/cloth").status_code == 200
    owner.post(ask[0], data={})
    with closing(live.signed_in(OWNER)) as anybody:
        assert anybody.get("/").status_code == 200


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({}, "Enter your password."),
        ({"proof_password": PASSWORD}, "Enter the code that your phone shows."),
        ({"proof_password": "wrong threads", "proof_code": "000000"}, "That is not your password."),
        ({"proof_password": PASSWORD, "proof_code": "000000"}, "not the code of this moment"),
    ],
)
def test_turning_it_off_wants_the_password_and_a_code_however_fresh_the_session(
    stitcher: httpx2.Client, live: Live, typed: dict[str, str], sentence: str
) -> None:
    _phone(live, STITCHER)
    refused = stitcher.post("/account/second-step/turn-off", data=typed)
    assert refused.status_code == 422
    assert sentence in refused.text
    assert "Make new recovery codes" in stitcher.get("/account/second-step").text


def test_turned_off_or_lost_the_password_alone_lets_in(
    owner: httpx2.Client, stitcher: httpx2.Client, live: Live
) -> None:
    phone, _ = _phone(live, STITCHER)
    off = {"proof_password": PASSWORD, "proof_code": phone.now()}
    assert stitcher.post("/account/second-step/turn-off", data=off).status_code == 303
    assert "Begin" in stitcher.get("/account/second-step").text
    _phone(live, STITCHER)
    with live.database.reading() as db:
        account_id, own = person(db, STITCHER).id, person(db, OWNER).id
    lost = "/settings/accounts/{}/second-step/turn-off"
    assert owner.post(lost.format(own)).status_code == 409
    assert owner.post(lost.format(account_id)).status_code == 303
    assert stitcher.get("/").status_code == 303
    with closing(live.visitor()) as again:
        assert again.post("/login", data={"email": STITCHER, "password": PASSWORD}).status_code == 303
