"""The password again before money, accounts, taking out and erasing; and nothing typed is lost on the way."""

import html
import re
from contextlib import closing
from datetime import UTC, datetime, timedelta

import httpx2
import pyotp
from fastapi.dependencies.models import Dependant
from fastapi.routing import APIRoute, iter_route_contexts
from sqlmodel import col, select

from service.app import create_app
from service.records.db import Database
from service.records.tables import Client, LoginSession, Stitcher
from service.studio import second_step
from service.studio.sign_in import PROOF_LASTS, make_token
from service.web.again import proved_owner, proved_person
from tests.counting import person
from tests.serving import OWNER, PASSWORD, STITCHER, Live

AFTER_PROOF = {
    # money
    ("POST", "/quotes/{quote_id}/send"),
    ("POST", "/quotes/{quote_id}/accept"),
    ("POST", "/quotes/{quote_id}/take-back"),
    ("POST", "/commissions/{commission_id}/money"),
    ("POST", "/payments/{payment_id}/take-back"),
    ("POST", "/settings/charges"),
    ("POST", "/books/stitchers/{stitcher_id}/payments"),
    ("POST", "/books/stitchers/{stitcher_id}/payments/{payment_id}/take-back"),
    ("POST", "/stitchers"),
    ("POST", "/stitchers/{stitcher_id}/change"),
    # accounts
    ("POST", "/stitchers/{stitcher_id}/account"),
    ("POST", "/stitchers/{stitcher_id}/account/switch"),
    ("POST", "/stitchers/{stitcher_id}/leave"),
    ("POST", "/settings/accounts/second-step"),
    ("POST", "/settings/accounts/{account_id}/link"),
    ("POST", "/settings/accounts/{account_id}/second-step/turn-off"),
    ("GET", "/account/second-step/begin"),
    ("POST", "/account/second-step/begin"),
    ("POST", "/account/second-step/confirm"),
    ("POST", "/account/second-step/recovery-codes"),
    # taking out
    ("GET", "/settings/everything.zip"),
    ("GET", "/settings/changes.csv"),
    ("GET", "/clients/{client_id}/data.zip"),
    ("GET", "/clients/list.csv"),
    ("GET", "/commissions/list.csv"),
    *(("GET", f"/books/files/{name}.csv") for name in ("months", "stitchers", "pieces", "work", "owed", "payments", "log")),
    *(("GET", f"/{name}/list.csv") for name in ("clients", "commissions")),
    # erasing
    ("POST", "/clients/{client_id}/erase"),
}  # fmt: skip
NAN = {"name": "Nan Pell", "pay": "14.50", "notes": 'two\nlines, "quoted" <b>', "hours_mon": "1.5"}
HIDDEN = re.compile(r'<input type="hidden" name="([^"]*)" value="([^"]*)">')


def _asked_of(dependant: Dependant, among: tuple[object, ...]) -> bool:
    return dependant.call in among or any(_asked_of(part, among) for part in dependant.dependencies)


def _grow_stale(live: Live, by: timedelta = PROOF_LASTS) -> None:
    with live.database.writing() as db:
        for session in db.exec(select(LoginSession)):
            session.proved_at = datetime.now(UTC) - by
            db.add(session)


def _carried(page: str) -> list[tuple[str, str]]:
    return [(name, html.unescape(value)) for name, value in HIDDEN.findall(page)]


def _names(live: Live) -> set[str]:
    with live.database.reading() as db:
        return set(db.exec(select(Stitcher.name)))


def test_exactly_these_routes_ask_for_it(sqlite_database: Database) -> None:
    found = set()
    for context in iter_route_contexts(create_app(sqlite_database).routes):
        route = context.route
        if isinstance(route, APIRoute) and _asked_of(route.dependant, (proved_owner, proved_person)):
            found |= {(method, str(getattr(context, "path", route.path))) for method in route.methods or ()}
    assert found == AFTER_PROOF


def test_each_of_them_shows_the_page_that_asks_and_does_nothing_else(owner: httpx2.Client, live: Live) -> None:
    _grow_stale(live)
    for method, path in sorted(AFTER_PROOF):
        address = re.sub(r"\{\w+\}", "1", path) + "?from=here"
        answer = owner.request(method, address, data={"name": "as typed"} if method == "POST" else None)
        assert answer.status_code == 401, path
        assert "Your password, please" in answer.text
        if method == "POST":
            assert f'<form method="post" action="{address}"' in answer.text
            assert _carried(answer.text) == [("name", "as typed")]
        else:
            assert _carried(answer.text) == [("then", address)]


def test_the_password_and_what_was_typed_go_in_together(owner: httpx2.Client, live: Live) -> None:
    _grow_stale(live)
    page = owner.post("/stitchers", data=NAN).text
    carried = _carried(page)
    assert dict(carried) == NAN
    wrong = owner.post("/stitchers", data=dict(carried) | {"proof_password": "wrong threads"})
    assert wrong.status_code == 422
    assert "That is not your password." in wrong.text
    assert "wrong threads" not in wrong.text
    assert dict(_carried(wrong.text)) == NAN
    assert "Nan Pell" not in _names(live)
    right = owner.post("/stitchers", data=dict(carried) | {"proof_password": PASSWORD})
    assert right.status_code == 303
    assert "two\nlines, &#34;quoted&#34; &lt;b&gt;" in owner.get(right.headers["location"]).text
    assert owner.post("/stitchers", data={"name": "Ann Wick"}).status_code == 303  # fresh for a while


def test_a_proof_lasts_a_quarter_of_an_hour_and_no_clock_set_back_makes_it_longer(
    owner: httpx2.Client, live: Live
) -> None:
    for age, status in ((timedelta(minutes=14), 303), (timedelta(minutes=15), 401), (timedelta(hours=-1), 401)):
        _grow_stale(live, age)
        assert owner.post("/stitchers", data={"name": f"Nan after {age}"}).status_code == status


def test_a_file_is_had_after_the_password(owner: httpx2.Client, live: Live) -> None:
    _grow_stale(live)
    page = owner.get("/books/files/owed.csv?since=2026-01").text
    carried = dict(_carried(page))
    wrong = owner.post("/account/again", data=carried | {"proof_password": ""})
    assert (wrong.status_code, dict(_carried(wrong.text))) == (422, carried)
    proved = owner.post("/account/again", data=carried | {"proof_password": PASSWORD})
    assert (proved.status_code, proved.headers["location"]) == (303, "/books/files/owed.csv?since=2026-01")
    assert owner.get("/books/files/owed.csv").headers["content-type"].startswith("text/csv")
    elsewhere = owner.post("/account/again", data={"then": "//elsewhere.example", "proof_password": PASSWORD})
    assert elsewhere.headers["location"] == "/"


def test_with_a_second_step_its_code_is_asked_for_too_and_guesses_have_to_wait(
    owner: httpx2.Client, live: Live
) -> None:
    with live.database.writing() as db:
        account_id, at = person(db, OWNER).id, datetime(2026, 1, 1, tzinfo=UTC)
        step = second_step.begin(db, account_id, at)
        codes = second_step.confirm(db, account_id, pyotp.TOTP(step.secret).at(at), at)
    _grow_stale(live)
    assert "recovery code" in owner.post("/stitchers", data=NAN).text
    alone = owner.post("/stitchers", data={**NAN, "proof_password": PASSWORD})
    assert (alone.status_code, "Nan Pell" in _names(live)) == (422, False)
    both = {"proof_password": PASSWORD, "proof_code": codes[0]}
    assert owner.post("/stitchers", data=NAN | both).status_code == 303
    _grow_stale(live)
    guess = {"name": "Ann Wick", "proof_password": "guess", "proof_code": "000000"}
    assert [owner.post("/stitchers", data=guess).status_code for _ in range(6)] == [422] * 5 + [429]


def test_a_stitcher_is_refused_before_she_is_asked_and_a_token_opens_no_page_at_all(
    stitcher: httpx2.Client, live: Live
) -> None:
    _grow_stale(live)
    assert stitcher.post("/stitchers", data=NAN).status_code == 403
    with live.database.writing() as db:
        token = make_token(db, OWNER, datetime.now(UTC))
    with closing(live.visitor()) as script:
        script.headers["Authorization"] = f"Bearer {token}"
        assert script.get("/api/commissions").status_code == 200
        for method, path in sorted(AFTER_PROOF):
            answer = script.request(method, re.sub(r"\{\w+\}", "1", path))
            assert (answer.status_code, answer.headers["location"][:12]) == (303, "/login?next="), path
        assert script.get("/clients").headers["location"] == "/login?next=/clients"


def test_what_was_typed_when_the_session_had_ended_is_sent_after_signing_in(owner: httpx2.Client, live: Live) -> None:
    typed = {"name": "Hester Vane", "notes": 'by the <river>, "left"\nbank'}
    with live.database.writing() as db:
        for session in db.exec(select(LoginSession)):
            session.ended_at = datetime.now(UTC)
            db.add(session)
    page = owner.post("/clients", data=typed)
    assert page.status_code == 401
    assert "What you typed is kept on this page" in page.text
    carried = dict(_carried(page.text))
    wrong = owner.post("/login", data=carried | {"email": OWNER, "password": "wrong"})
    assert dict(_carried(wrong.text)) == carried
    signed = owner.post("/login", data=carried | {"email": OWNER, "password": PASSWORD})
    assert signed.status_code == 200
    assert '<form method="post" action="/clients">' in signed.text
    assert dict(_carried(signed.text)) == typed
    looked_over = owner.post("/clients", data=typed | {"look-over": "yes"})
    assert looked_over.status_code == 422
    assert "by the &lt;river&gt;, &#34;left&#34;\nbank</textarea>" in looked_over.text
    assert "nothing of it is kept yet" in looked_over.text
    sent = owner.post("/clients", data=dict(_carried(signed.text)))
    assert sent.status_code == 303
    with live.database.reading() as there:
        assert there.exec(select(Client.notes).order_by(col(Client.id).desc())).first() == typed["notes"]


def test_what_is_only_looked_over_changes_nothing_whatever_its_page_does(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        db.add(Client(name="Ivy", created_at=datetime.now(UTC)))
    owner.post("/clients/1/put-away", data={"away": "yes", "look-over": "yes"})
    with live.database.reading() as there:
        assert there.exec(select(Client.put_away)).one() is False


def test_a_password_is_never_carried_through_signing_in(live: Live) -> None:
    with closing(live.visitor()) as nobody:
        page = nobody.post("/account/password", data={"old": PASSWORD, "password": "eight new threads"})
        assert page.status_code == 401
        assert PASSWORD not in page.text
        assert "eight new threads" not in page.text
        htmx = nobody.post("/clients", data={"name": "x"}, headers={"HX-Request": "true"})
        assert htmx.status_code == 401
        assert "What you typed is still here: sign in in another window" in htmx.text
        looked = nobody.get("/clients", headers={"HX-Request": "true"})
        assert (looked.status_code, looked.headers["hx-refresh"]) == (204, "true")
        assert STITCHER not in page.text
