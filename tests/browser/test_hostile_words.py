"""What anybody may type is shown as words on every page, and run on none: no dialog, no report of the policy."""

from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Dialog, Page
from sqlmodel import select

from service.records.tables import Account
from service.studio.demo import DEMO_EMAILS
from service.studio.sign_in import begin_session
from service.web.deps import PLAIN_COOKIE
from tests.browser.hostile import make_hostile
from tests.filled import demo_copied
from tests.serving import Live, serving
from tests.web.asking import SAFE, Here, make_ready, routes_of

NO_WORDS = ("/api/", "/static/", "/reckoner", "/first-run", "/login")  # nothing that was kept is shown there
NO_PAGE = (
    "/new",
    ".pdf",
    ".csv",
    ".zip",
    ".ics",
    ".js",
    ".svg",
    "/text",
    "/health",
    "/openapi.json",
    "{size}",
    "{name}",
    "/sign-out",
)


@pytest.fixture
def hostile(tmp_path_factory: pytest.TempPathFactory, tmp_path: Path) -> Iterator[tuple[Live, Here]]:
    """The demo studio, running, after somebody wrote what she should not into every field."""
    with demo_copied(tmp_path_factory.getbasetemp(), tmp_path) as database, serving(database) as live:
        with database.writing() as db:
            here = make_ready(db)
        with database.writing() as db:
            assert make_hostile(db) > 60
        yield live, here


def _heard(page: Page) -> list[str]:
    heard: list[str] = []

    def refuse(dialog: Dialog) -> None:
        heard.append(f"dialog {dialog.message} at {page.url}")
        dialog.dismiss()

    page.on("dialog", refuse)
    page.on("pageerror", lambda error: heard.append(f"script: {error} at {page.url}"))
    page.on("console", lambda said: heard.append(f"{said.text} at {page.url}") if said.type == "error" else None)
    return heard


def test_words_that_would_be_run_are_shown_as_words_on_every_page(browser: Browser, hostile: tuple[Live, Here]) -> None:
    live, here = hostile
    assert live.app
    with live.database.writing() as db:
        owner = db.exec(select(Account.id).where(Account.email == DEMO_EMAILS["edda"])).one()
        secret = begin_session(db, owner or 0, datetime.now(UTC))
    paths = [
        path
        for method, path in routes_of(live.app)
        if method in SAFE and not path.startswith(NO_WORDS) and not path.endswith(NO_PAGE)
    ]
    shown = 0
    with closing(browser.new_context(base_url=live.url)) as context:
        context.add_cookies([{"name": PLAIN_COOKIE, "value": secret, "url": live.url}])
        page = context.new_page()
        heard = _heard(page)
        page.goto(f"/window/in/{here.window}")
        page.click("main button")
        for path in paths:
            answer = page.goto(here.address_of(path), wait_until="domcontentloaded")
            assert answer is not None
            heard += [f"{answer.status} at {page.url}"] if answer.status >= 500 else []
            shown += any(word in page.content() for word in ("alert(", "{{ 7 * 7 }}"))
    assert heard == []
    assert shown > 40
