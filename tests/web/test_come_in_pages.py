"""The page behind a link that sets a password: looked at by anybody, it changes nothing; pressed, it works once."""

import logging
import time
from contextlib import closing
from datetime import UTC, datetime

import httpx2
import pyotp
import pytest
from sqlmodel import select

from service.records.tables import Account, WayIn
from service.studio import second_step
from tests.counting import person
from tests.serving import OWNER, PASSWORD, STITCHER, Live

NEW = "nine other threads"


def _link(owner: httpx2.Client, live: Live, email: str = STITCHER) -> str:
    with live.database.reading() as db:
        account_id = db.exec(select(Account.id).where(Account.email == email)).one()
    page = owner.post(f"/settings/accounts/{account_id}/link", follow_redirects=True)
    assert page.headers["referrer-policy"] == "no-referrer"
    assert page.headers["cache-control"] == "no-store"
    return page.text.split('id="f-link" value="')[1].split('"')[0]


def test_a_link_that_opens_on_no_phone_says_so(owner: httpx2.Client, live: Live) -> None:
    with live.database.reading() as db:
        account_id = db.exec(select(Account.id).where(Account.email == STITCHER)).one()
    page = owner.post(f"/settings/accounts/{account_id}/link", follow_redirects=True).text
    assert "This link opens on this computer only, on no phone." in page


def test_looking_at_it_ever_so_often_changes_nothing(owner: httpx2.Client, stitcher: httpx2.Client, live: Live) -> None:
    link = _link(owner, live)
    assert link.startswith(f"{live.url}/come-in/")
    with closing(live.visitor()) as scanner:
        for _ in range(3):
            seen = scanner.get(link)
            assert seen.status_code == 200
            assert "Wren Hallam" in seen.text
            assert seen.headers["referrer-policy"] == "no-referrer"
            assert seen.headers["cache-control"] == "no-store"
            assert "set-cookie" not in seen.headers
        assert scanner.head(link).status_code == 405
    assert stitcher.get("/").status_code == 200
    with live.database.reading() as db:
        assert db.exec(select(WayIn.used_at)).one() is None


def test_pressed_it_sets_the_password_once_signs_out_everywhere_and_lets_nobody_in_by_itself(
    owner: httpx2.Client, stitcher: httpx2.Client, live: Live
) -> None:
    link = _link(owner, live)
    with closing(live.visitor()) as hers:
        for short in ("short", "password12345"):
            refused = hers.post(link, data={"password": short})
            assert refused.status_code == 422
            assert short not in refused.text
        done = hers.post(link, data={"password": NEW})
        assert (done.status_code, done.headers["location"]) == (303, "/login")
        assert "set-cookie" not in done.headers
        assert stitcher.get("/").status_code == 303
        again = hers.post(link, data={"password": "yet other threads"})
        assert again.status_code == 404
        assert "not good any more" in again.text
        assert hers.get(link).text == hers.get("/come-in/guessed").text.replace("guessed", link.rsplit("/", 1)[1])
        old, new = ({"email": STITCHER, "password": one} for one in (PASSWORD, NEW))
        assert hers.post("/login", data=old).status_code == 422
        assert hers.post("/login", data=new).status_code == 303


def test_it_does_not_pass_the_second_step(owner: httpx2.Client, live: Live) -> None:
    at = datetime(2026, 1, 1, tzinfo=UTC)
    with live.database.writing() as db:
        account_id = person(db, STITCHER).id
        phone = pyotp.TOTP(second_step.begin(db, account_id, at).secret)
        second_step.confirm(db, account_id, phone.at(at), at)
    link = _link(owner, live)
    with closing(live.visitor()) as hers:
        hers.post(link, data={"password": NEW})
        asked = hers.post("/login", data={"email": STITCHER, "password": NEW}, follow_redirects=True)
        assert "The code from your phone" in asked.text
        assert hers.get("/").status_code == 303


def test_only_the_owner_makes_and_withdraws_links_and_the_log_holds_no_secret(
    owner: httpx2.Client, stitcher: httpx2.Client, live: Live, caplog: pytest.LogCaptureFixture
) -> None:
    with live.database.reading() as db:
        account_id = db.exec(select(Account.id).where(Account.email == OWNER)).one()
    assert stitcher.post(f"/settings/accounts/{account_id}/link").status_code == 403
    with caplog.at_level(logging.INFO, "stopline.request"):
        link = _link(owner, live, OWNER)
        owner.get(link)
        for _ in range(100):  # the line is written once the answer has left
            if "/come-in/..." in caplog.text:
                break
            time.sleep(0.05)
    assert "/come-in/..." in caplog.text
    assert link.rsplit("/", 1)[1] not in caplog.text
    assert "waits until" in owner.get(f"/settings/accounts/{account_id}").text
    owner.post(f"/settings/accounts/{account_id}/link/withdraw")
    assert owner.get(link).status_code == 404


def test_links_cannot_be_guessed_at_leisure(live: Live) -> None:
    with closing(live.visitor()) as guesser:
        statuses = [guesser.post(f"/come-in/{n}", data={"password": NEW}).status_code for n in range(32)]
    assert statuses == [404] * 30 + [429, 429]
