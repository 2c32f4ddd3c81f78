"""Links, addresses and codes shown once: for as long as they are good, and to the session alone that made them."""

import re
from contextlib import closing
from datetime import UTC, datetime

import httpx2
import pyotp
import pytest
from sqlmodel import select

from service.records.tables import Account, CalendarLink, ShareLink
from service.studio import second_step
from service.web.deps import PLAIN_COOKIE
from service.web.shown_once import PLAIN_SHOWN, SECURE_SHOWN
from tests.building import a_commission
from tests.counting import number, person
from tests.serving import OWNER, PASSWORD, START, STITCHER, Live


def _account(live: Live, email: str) -> int:
    with live.database.reading() as db:
        return number(db.exec(select(Account).where(Account.email == email)).one())


def _made(client: httpx2.Client, form: str, **typed: str) -> str:
    """Send a form that makes something; the address of the page that shows it."""
    answer = client.post(form, data=typed)
    assert answer.status_code == 303
    shown = answer.headers["location"]
    assert client.get(shown).status_code == 200
    return str(shown)


def _leads_to(client: httpx2.Client, page: str) -> str:
    answer = client.get(page)
    assert answer.status_code == 303
    return str(answer.headers["location"])


def test_a_link_that_was_withdrawn_or_used_is_shown_no_more(owner: httpx2.Client, live: Live) -> None:
    here = f"/settings/accounts/{_account(live, STITCHER)}"
    page = _made(owner, f"{here}/link")
    owner.post(f"{here}/link/withdraw")
    assert _leads_to(owner, page) == here
    page = _made(owner, f"{here}/link")
    (link,) = re.findall(r'id="f-link" value="([^"]+)"', owner.get(page).text)
    with closing(live.visitor()) as hers:
        assert hers.post(link, data={"password": "eight new threads"}).status_code == 303
    assert _leads_to(owner, page) == here


def test_how_long_a_link_is_good_is_told_by_the_book_and_not_by_the_address(owner: httpx2.Client, live: Live) -> None:
    page = _made(owner, f"/settings/accounts/{_account(live, STITCHER)}/link")
    bent = owner.get(page.partition("?")[0], params={"kind": "invite"}).text
    assert "three hours" in bent
    assert "three days" not in bent


def test_an_address_and_a_window_that_were_ended_are_shown_no_more(owner: httpx2.Client, live: Live) -> None:
    page = _made(owner, "/diary/calendar")
    with live.database.reading() as db:
        link = number(db.exec(select(CalendarLink)).one())
    owner.post(f"/diary/calendar/{link}/end")
    assert _leads_to(owner, page) == "/diary/calendar"
    with live.database.writing() as db:
        window = f"/commissions/{number(a_commission(db))}/window"
    page = _made(owner, f"{window}/links", label="Hester", days="30", kind="progress")
    with live.database.reading() as db:
        link = number(db.exec(select(ShareLink)).one())
    owner.post(f"/window-links/{link}/revoke")
    assert _leads_to(owner, page) == window


def test_codes_are_shown_as_long_as_they_let_somebody_in(stitcher: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        hers = person(db, STITCHER).id
        second_step.confirm(db, hers, pyotp.TOTP(second_step.begin(db, hers, START).secret).at(START), START)
    page = _made(stitcher, "/account/second-step/recovery-codes")
    codes = re.findall(r"(?:[a-z2-7]{4}-){5}[a-z2-7]{4}", stitcher.get(page).text)
    assert len(codes) == second_step.RECOVERY_CODES
    with live.database.writing() as db:
        assert second_step.takes_code(db, hers, codes[2], datetime.now(UTC))
    left = re.findall(r"(?:[a-z2-7]{4}-){5}[a-z2-7]{4}", stitcher.get(page).text)
    assert left == codes[:2] + codes[3:]
    with live.database.writing() as db:
        second_step.turn_off(db, hers, hers, datetime.now(UTC))
    assert _leads_to(stitcher, page) == "/account/second-step"


@pytest.mark.parametrize("who", [OWNER, STITCHER])
def test_nobody_is_shown_what_another_session_made(owner: httpx2.Client, live: Live, who: str) -> None:
    page = _made(owner, "/diary/calendar")
    with closing(live.signed_in(who)) as another:
        another.cookies.set(PLAIN_SHOWN, owner.cookies[PLAIN_SHOWN])
        assert _leads_to(another, page) == "/diary/calendar"


def test_no_other_secret_is_put_into_a_page(owner: httpx2.Client, live: Live) -> None:
    page, session = _made(owner, "/diary/calendar"), owner.cookies[PLAIN_COOKIE]
    first = owner.cookies[PLAIN_SHOWN]
    _made(owner, "/diary/calendar")
    seal, other = first.partition(".")[0], owner.cookies[PLAIN_SHOWN].partition(".")[2]
    with closing(live.visitor()) as browser:
        for kept, status in ((first, 200), (f"{seal}.{other}", 303), (seal, 303), (".", 303), ("\u00e9.%ff", 303)):
            sent = f"{PLAIN_COOKIE}={session}; {PLAIN_SHOWN}={kept}".encode()
            assert browser.get(page, headers=[(b"cookie", sent)]).status_code == status


def test_whoever_signs_in_next_finds_none_of_it_in_the_browser(owner: httpx2.Client) -> None:
    _made(owner, "/diary/calendar")
    assert PLAIN_SHOWN in owner.cookies
    assert owner.post("/login", data={"email": STITCHER, "password": PASSWORD}).status_code == 303
    assert PLAIN_SHOWN not in owner.cookies


def test_over_https_it_is_kept_and_told_so(owner: httpx2.Client, live: Live) -> None:
    assert live.app
    secret = dict(owner.cookies)
    live.app.state.https = True
    sent = {"Cookie": "; ".join(f"__Host-{name}={value}" for name, value in secret.items())}
    made = owner.post("/diary/calendar", headers=sent)
    cookie = made.headers["set-cookie"]
    assert cookie.startswith(f"{SECURE_SHOWN}=")
    for word in ("HttpOnly", "Secure", "SameSite=lax", "Max-Age=600", "Path=/"):
        assert word in cookie
    kept = cookie.partition(";")[0]
    shown = owner.get(made.headers["location"], headers={"Cookie": f"{sent['Cookie']}; {kept}"})
    assert re.findall(r'value="(https?)://[^"]+\.ics"', shown.text) == ["https"]
