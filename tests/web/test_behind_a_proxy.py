"""Forwarded headers are believed from the named proxy and from nobody else; a command lets a locked-out owner in."""

from contextlib import closing
from pathlib import Path

import httpx2
import pytest
from sqlmodel import select

from service.cli import way_in
from service.errors import NotFound
from service.records.db import Database
from service.records.tables import SignInTry
from service.studio import second_step
from service.studio.tries import Counted
from service.web.deps import PLAIN_COOKIE, SECURE_COOKIE
from tests.counting import person
from tests.serving import OWNER, PASSWORD, START, STITCHER, Live, serving

FORWARDED = {"X-Forwarded-For": "198.51.100.9, 203.0.113.5", "X-Forwarded-Proto": "https"}


def _signed_in(live: Live) -> httpx2.Response:
    with closing(live.visitor()) as visitor:
        visitor.post("/login", data={"email": OWNER, "password": "wrong"}, headers=FORWARDED)
        return visitor.post("/login", data={"email": OWNER, "password": PASSWORD}, headers=FORWARDED)


@pytest.mark.parametrize(
    ("proxy", "cookie", "address"),
    [
        ("127.0.0.1", SECURE_COOKIE, "203.0.113.5"),
        ("", PLAIN_COOKIE, "127.0.0.1"),
        ("192.0.2.1", PLAIN_COOKIE, "127.0.0.1"),
    ],
    ids=["named", "none named", "another named"],
)
def test_who_asks_and_over_https_is_told_by_the_named_proxy_alone(
    sqlite_database: Database, proxy: str, cookie: str, address: str
) -> None:
    with serving(sqlite_database, proxy=proxy) as live:
        answer = _signed_in(live)
        assert answer.headers["set-cookie"].startswith(f"{cookie}=")
        assert ("strict-transport-security" in answer.headers) == (cookie == SECURE_COOKIE)
        with sqlite_database.reading() as db:
            counted = {row.key_sha256: row.tries for row in db.exec(select(SignInTry))}
        assert counted == {Counted("address", address).key: 1}


@pytest.mark.parametrize("lost_too", [False, True])
def test_a_locked_out_owner_is_let_in_at_the_machine(
    live: Live, tmp_path: Path, capsys: pytest.CaptureFixture[str], *, lost_too: bool
) -> None:
    with live.database.writing() as db:
        second_step.begin(db, person(db, OWNER).id, START).confirmed_at = START
    way_in(OWNER, without_second_step=lost_too, data=tmp_path)
    path = capsys.readouterr().out.split()[1]
    with closing(live.visitor()) as visitor:
        assert visitor.post(path, data={"password": "eight new threads"}).status_code == 303
        asked = visitor.post("/login", data={"email": OWNER, "password": "eight new threads"})
        assert asked.headers["location"] == ("/" if lost_too else "/login/code?next=/")
    with pytest.raises(NotFound, match="Nobody signs in with"):
        way_in(f"x{STITCHER}", data=tmp_path)
