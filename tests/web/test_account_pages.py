"""Where each account is signed in, on its own page and on the owner's; passwords changed; sessions that end."""

import re
from contextlib import closing
from datetime import UTC, datetime, timedelta

import httpx2
import pytest
from sqlmodel import col, select

from service.records.tables import AccessToken, Account, LoginSession
from service.studio.sign_in import make_token, sha256
from service.web.deps import PLAIN_COOKIE, SECURE_COOKIE
from service.web.doorway import PLAIN_KNOWN, SECURE_KNOWN
from tests.serving import OWNER, PASSWORD, SECOND, STITCHER, Live

PHONE = "Mozilla/5.0 (Linux; Android 15; K) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/140.0 Mobile Safari/537.36"
NEW = "eight new threads"


def _session_id(live: Live, client: httpx2.Client) -> int:
    with live.database.reading() as db:
        found = select(LoginSession.id).where(LoginSession.secret_sha256 == sha256(client.cookies[PLAIN_COOKIE]))
        session_id = db.exec(found).one()
        assert session_id is not None
        return session_id


def _account_id(live: Live, email: str) -> int:
    with live.database.reading() as db:
        account_id = db.exec(select(Account.id).where(Account.email == email)).one()
        assert account_id is not None
        return account_id


def _change(live: Live, client: httpx2.Client, **values: datetime) -> None:
    with live.database.writing() as db:
        session = db.get_one(LoginSession, _session_id(live, client))
        for name, value in values.items():
            setattr(session, name, value)
        db.add(session)


def test_her_page_lists_where_she_is_signed_in_and_ends_one(stitcher: httpx2.Client, live: Live) -> None:
    with closing(live.visitor()) as phone, closing(live.signed_in(SECOND)) as somebody_else:
        phone.headers["User-Agent"] = PHONE
        phone.post("/login", data={"email": STITCHER, "password": PASSWORD})
        page = stitcher.get("/account").text
        assert "Chrome on an Android phone" in page
        assert page.count("this one, here") == 1
        assert len(re.findall(r"/account/sessions/\d+/end\"", page)) == 1
        others = _session_id(live, somebody_else)
        assert stitcher.post(f"/account/sessions/{others}/end").status_code == 404
        assert stitcher.post(f"/account/sessions/{_session_id(live, phone)}/end").status_code == 303
        assert phone.get("/account").headers["location"] == "/login?next=/account"
        assert somebody_else.get("/account").status_code == 200
        assert "Android" not in stitcher.get("/account").text


def test_all_others_end_at_one_press(stitcher: httpx2.Client, live: Live) -> None:
    elsewhere = [live.signed_in(STITCHER) for _ in range(2)]
    assert stitcher.post("/account/sessions/end-others").status_code == 303
    assert [client.get("/account").status_code for client in elsewhere] == [303, 303]
    assert stitcher.get("/account").status_code == 200
    for client in elsewhere:
        client.close()


def test_the_owner_sees_and_ends_anybodys(owner: httpx2.Client, stitcher: httpx2.Client, live: Live) -> None:
    stitchers = _account_id(live, STITCHER)
    assert "Wren Hallam" in owner.get("/settings/accounts").text
    assert stitcher.get("/settings/accounts").status_code == 403
    with closing(live.signed_in(STITCHER)) as elsewhere:
        path = f"/settings/accounts/{stitchers}/sessions"
        assert f'"{path}/{_session_id(live, elsewhere)}/end"' in owner.get(f"/settings/accounts/{stitchers}").text
        assert stitcher.post(f"{path}/end-all").status_code == 403
        owner.post(f"{path}/{_session_id(live, elsewhere)}/end")
        assert (elsewhere.get("/").status_code, stitcher.get("/").status_code) == (303, 200)
        owner.post(f"{path}/end-all")
        assert stitcher.get("/").status_code == 303
    assert owner.get("/").status_code == 200
    assert owner.get("/settings/accounts/999").status_code == 404


def test_a_switched_off_account_is_out_at_once_and_its_tokens_too(
    owner: httpx2.Client, stitcher: httpx2.Client, live: Live
) -> None:
    with live.database.writing() as db:
        token = make_token(db, STITCHER, datetime.now(UTC))
        number = db.exec(select(Account.stitcher_id).where(Account.email == STITCHER)).one()
    bearer = {"Authorization": f"Bearer {token}"}
    assert stitcher.get("/").status_code == 200
    assert stitcher.get("/api/standing", headers=bearer).status_code == 200
    owner.post(f"/stitchers/{number}/account/switch", data={})
    assert stitcher.get("/").status_code == 303
    assert stitcher.get("/api/standing", headers=bearer).status_code == 401


@pytest.mark.parametrize(
    ("column", "ago", "alive"),
    [
        ("last_seen_at", timedelta(days=6, hours=23), True),
        ("last_seen_at", timedelta(days=7, seconds=1), False),
        ("ends_at", timedelta(seconds=1), False),
    ],
    ids=["not used for nearly a week", "not used for a week", "thirty days over"],
)
def test_a_session_ends_by_itself(
    stitcher: httpx2.Client, live: Live, column: str, ago: timedelta, *, alive: bool
) -> None:
    _change(live, stitcher, **{column: datetime.now(UTC) - ago})
    assert (stitcher.get("/").status_code == 200) is alive


def test_a_session_lasts_thirty_days_at_most_and_its_use_is_written_down_now_and_then(
    stitcher: httpx2.Client, live: Live
) -> None:
    assert live.app is not None
    used = datetime.now(UTC)
    _change(live, stitcher, last_seen_at=used - timedelta(hours=2))
    stitcher.get("/account")
    live.app.state.seen.write(live.database)
    with live.database.reading() as db:
        session = db.get_one(LoginSession, _session_id(live, stitcher))
        assert timedelta() <= session.last_seen_at - used < timedelta(minutes=1)
        assert session.ends_at - session.created_at == timedelta(days=30)


def test_a_new_password_asks_for_the_old_one_and_ends_the_others_if_wanted(stitcher: httpx2.Client, live: Live) -> None:
    with closing(live.signed_in(STITCHER)) as elsewhere:
        wrong = stitcher.post("/account/password", data={"old": "nonsense", "password": NEW})
        assert wrong.status_code == 422
        assert "That is not your password now." in wrong.text
        short = stitcher.post("/account/password", data={"old": PASSWORD, "password": "short"})
        assert "Choose a password of 12 to 200 characters." in short.text
        assert stitcher.post("/account/password", data={"old": PASSWORD, "password": NEW}).status_code == 303
        assert elsewhere.get("/").status_code == 200
        again = {"old": NEW, "password": "nine other threads", "others": "yes"}
        assert stitcher.post("/account/password", data=again).status_code == 303
        assert (stitcher.get("/").status_code, elsewhere.get("/").status_code) == (200, 303)


def test_a_stolen_session_cannot_grind_the_password(stitcher: httpx2.Client) -> None:
    guess = {"old": "nonsense", "password": NEW}
    statuses = [stitcher.post("/account/password", data=guess).status_code for _ in range(6)]
    assert statuses == [422] * 5 + [429]


def test_tokens_are_listed_and_ended(owner: httpx2.Client, stitcher: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        token = make_token(db, STITCHER, datetime.now(UTC))
    with live.database.reading() as reads:
        token_id = reads.exec(select(AccessToken.id).order_by(col(AccessToken.id).desc())).first()
    assert f"/account/tokens/{token_id}/end" in stitcher.get("/account").text
    assert owner.post(f"/account/tokens/{token_id}/end").status_code == 404
    assert stitcher.post(f"/account/tokens/{token_id}/end").status_code == 303
    assert stitcher.get("/api/standing", headers={"Authorization": f"Bearer {token}"}).status_code == 401


def test_over_https_the_cookies_are_the_strict_ones_and_only_they_are_believed(live: Live) -> None:
    assert live.app is not None
    live.app.state.https = True
    with closing(live.visitor()) as visitor, closing(live.signed_in(OWNER)) as plain:
        answer = visitor.post("/login", data={"email": OWNER, "password": PASSWORD})
        cookies = [one for name, one in answer.headers.multi_items() if name == "set-cookie"]
        assert sorted(one.split("=")[0] for one in cookies) == [SECURE_COOKIE, SECURE_KNOWN]
        for one in cookies:
            assert {"secure", "httponly", "path=/", "samesite=lax"} <= set(one.lower().split("; "))
            assert "domain" not in one.lower()
        assert plain.get("/").status_code == 303
    live.app.state.https = False


def test_a_browser_she_signed_in_with_before_never_waits_for_strangers(live: Live) -> None:
    wrong, right = {"email": OWNER, "password": "wrong"}, {"email": OWNER, "password": PASSWORD}
    with closing(live.visitor()) as hers, closing(live.visitor()) as stranger:
        hers.post("/login", data=right)
        hers.post("/sign-out")
        assert PLAIN_KNOWN in hers.cookies
        assert [stranger.post("/login", data=wrong).status_code for _ in range(6)] == [422] * 5 + [429]
        assert hers.post("/login", data=right).status_code == 303
        stranger.cookies.set(PLAIN_KNOWN, "made up")
        assert stranger.post("/login", data=right).status_code == 429
