"""Signing in and out on the pages."""

import re
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta

import httpx2
import pytest
from sqlmodel import select

from service.records.tables import Event, LoginSession
from service.studio.sign_in import sha256
from service.web.deps import PLAIN_COOKIE
from tests.serving import OWNER, PASSWORD, STITCHER, Live


@pytest.fixture
def visitor(live: Live) -> Iterator[httpx2.Client]:
    """A browser nobody has signed in with."""
    with closing(live.visitor()) as client:
        yield client


def test_the_right_password_signs_in_and_goes_on(visitor: httpx2.Client) -> None:
    answer = visitor.post("/login", data={"email": OWNER.upper(), "password": PASSWORD, "next": "/clients"})
    assert (answer.status_code, answer.headers["location"]) == (303, "/clients")
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=lax" in cookie
    assert "path=/" in cookie
    assert visitor.get("/clients").status_code == 200
    assert visitor.get("/login").headers["location"] == "/"


def test_only_a_digest_of_the_secret_is_kept(visitor: httpx2.Client, live: Live) -> None:
    visitor.post("/login", data={"email": OWNER, "password": PASSWORD})
    with live.database.reading() as db:
        session = db.exec(select(LoginSession)).one()
        assert session.secret_sha256 == sha256(visitor.cookies[PLAIN_COOKIE])
        event = db.exec(select(Event).where(Event.action == "signed in")).one()
    assert (event.action, event.account_id) == ("signed in", session.account_id)


@pytest.mark.parametrize(
    "typed",
    [
        {"email": OWNER, "password": "wrong threads altogether"},
        {"email": "nobody@studio.example", "password": PASSWORD},
        {"email": OWNER, "password": "x" * 1000},
    ],
    ids=["wrong password", "unknown name", "overlong password"],
)
def test_wrong_name_or_password_get_the_same_answer(visitor: httpx2.Client, typed: dict[str, str]) -> None:
    answer = visitor.post("/login", data=typed)
    assert answer.status_code == 422
    assert "E-mail address and password do not belong together." in answer.text
    assert typed["password"] not in answer.text
    assert PLAIN_COOKIE not in visitor.cookies


def test_empty_fields_are_told_at_the_field(visitor: httpx2.Client) -> None:
    answer = visitor.post("/login", data={})
    assert answer.status_code == 422
    assert "Enter your e-mail address." in answer.text
    assert "Enter your password." in answer.text


def test_many_wrong_tries_on_one_name_have_to_wait_and_another_name_does_not(visitor: httpx2.Client) -> None:
    statuses = [visitor.post("/login", data={"email": OWNER, "password": f"wrong {n}"}).status_code for n in range(6)]
    assert statuses == [422] * 5 + [429]
    waiting = visitor.post("/login", data={"email": OWNER, "password": PASSWORD})
    assert waiting.status_code == 429
    told = re.search(r"Too many tries. Wait (\d+) seconds?, then try again.", waiting.text)
    assert told
    assert waiting.headers["retry-after"] == told[1]
    assert OWNER in waiting.text
    assert visitor.post("/login", data={"email": STITCHER, "password": PASSWORD}).status_code == 303


def test_signing_out_ends_the_session_on_the_server(owner: httpx2.Client) -> None:
    secret = owner.cookies[PLAIN_COOKIE]
    answer = owner.post("/sign-out")
    assert answer.headers["location"] == "/login"
    assert answer.headers["clear-site-data"] == '"cache"'
    owner.cookies.set(PLAIN_COOKIE, secret)
    assert owner.get("/clients").headers["location"] == "/login?next=/clients"


def test_an_expired_session_is_dead(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        session = db.exec(select(LoginSession)).one()
        session.ends_at = datetime.now(UTC) - timedelta(seconds=1)
        db.add(session)
    assert owner.get("/clients").status_code == 303


@pytest.mark.parametrize(
    "onward", ["https://elsewhere.example", "//elsewhere.example", "/\\elsewhere.example", "javascript:x", ""]
)
def test_signing_in_never_leads_to_another_site(visitor: httpx2.Client, onward: str) -> None:
    answer = visitor.post("/login", data={"email": OWNER, "password": PASSWORD, "next": onward})
    assert answer.headers["location"] == "/"
