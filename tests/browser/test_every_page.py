"""Every page of the demo studio, looked at in the browser: accessibility rules, width, console; owner and stitcher."""

import shutil
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Literal

import pytest
from fastapi.routing import APIRoute, iter_route_contexts
from playwright.sync_api import Browser, ViewportSize
from sqlmodel import col, select

from service.app import create_app
from service.reckoning.design_text import read_design
from service.records.db import Database, migrate, open_database
from service.records.photo_store import FolderStore
from service.records.tables import Account, Garment, Panel, Quote, QuoteLine, Step
from service.studio.demo import DEMO_EMAILS, fill_or_refresh
from service.studio.sign_in import begin_session
from service.web.deps import PLAIN_COOKIE
from tests.browser.seeing import Watch
from tests.serving import Live, serving

PHONE: ViewportSize = {"width": 390, "height": 844}
LAPTOP: ViewportSize = {"width": 1280, "height": 900}
NOT_PAGES = {"/health", "/openapi.json", "/login", "/first-run", "/photos/1/1", "/calendar/1"}
NOT_PAGE_ENDINGS = ("/text", ".pdf", ".csv", ".svg", ".js", ".zip", ".ics")
NOT_PAGE_BEGINNINGS = ("/api/", "/static/", "/window")  # the client's window is walked through by itself


@pytest.fixture(scope="module")
def demo_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo studio in a SQLite file."""
    path = tmp_path_factory.mktemp("demo") / "studio.sqlite"
    url = f"sqlite:///{path}"
    migrate(url)
    database = open_database(url)
    fill_or_refresh(database, "linen and patience", 0, datetime.now(UTC), FolderStore(path.parent / "photos"))
    database.close()
    return path


@pytest.fixture
def demo(demo_file: Path, tmp_path: Path) -> Iterator[Live]:
    """A running service on the demo studio."""
    path = tmp_path / "studio.sqlite"
    shutil.copyfile(demo_file, path)
    shutil.copytree(demo_file.parent / "photos", tmp_path / "photos")
    database = open_database(f"sqlite:///{path}")
    with serving(database) as live:
        yield live
    database.close()


def _secret(live: Live, email: str) -> str:
    with live.database.writing() as db:
        account = db.exec(select(Account).where(Account.email == email)).one()
        assert account.id is not None
        return begin_session(db, account.id, datetime.now(UTC))


@pytest.fixture(scope="module")
def addresses(demo_file: Path) -> list[str]:
    """Every page there is, with numbers of records of the demo; asked before a service runs beside it."""
    database = open_database(f"sqlite:///{demo_file}")
    found = _addresses(database)
    database.close()
    return found


def _addresses(database: Database) -> list[str]:
    with database.reading() as db:
        garment = db.exec(select(Garment).where(Garment.name == "Ivy's christening gown")).one()
        step = garment.next_step_id
        of_demo: dict[str, object] = {"{garment_id}": garment.id, "{design_id}": garment.design_id}
        of_demo["{day}"] = (datetime.now(UTC) + timedelta(days=2)).date()
        draft, line = db.exec(
            select(Quote.id, QuoteLine.id)
            .join(QuoteLine, col(QuoteLine.quote_id) == Quote.id)
            .where(Quote.state == "draft")
        ).first() or (None, None)
        of_demo["{quote_id}/lines/{line_id}"] = f"{draft}/lines/{line}"
        design = read_design(garment.document)
        of_demo["panels/{key}"] = f"panels/{design.panels[0].key}"
        of_demo["sections/{key}"] = f"sections/{design.every_section[0].key}"
    app = create_app(database)
    found = set()
    for context in iter_route_contexts(app.routes):
        route = context.route
        if isinstance(route, APIRoute) and "GET" in (route.methods or ()):
            path = str(getattr(context, "path", route.path))
            for name, value in {**of_demo, "{step_id}": step}.items():
                path = path.replace(name, str(value))
            parts = ["1" if part.startswith("{") else part for part in path.split("/")]
            found.add("/".join(parts) or "/")
    return sorted(
        path
        for path in found
        if not path.startswith(NOT_PAGE_BEGINNINGS) and path not in NOT_PAGES and not path.endswith(NOT_PAGE_ENDINGS)
    )


@pytest.mark.parametrize(
    ("viewport", "scheme"), [(PHONE, "light"), (LAPTOP, "dark")], ids=["phone, light", "laptop, dark"]
)
def test_every_page_of_the_owner_can_be_read_and_used(
    browser: Browser, addresses: list[str], demo: Live, viewport: ViewportSize, scheme: Literal["light", "dark"]
) -> None:
    assert len(addresses) > 25
    with closing(browser.new_context(viewport=viewport, color_scheme=scheme, base_url=demo.url)) as context:
        secret = _secret(demo, DEMO_EMAILS["edda"])
        context.add_cookies([{"name": PLAIN_COOKIE, "value": secret, "url": demo.url}])
        page = context.new_page()
        watch = Watch(page, with_rules=True)
        for place, address in enumerate(addresses):
            # The rules take as long as a page does: each page is held to them in one of the two ways, in turn.
            watch.with_rules = place % 2 == (scheme == "dark")
            answer = page.goto(address)
            assert answer is not None
            assert answer.status < 400, address
            watch.look(address)
        assert watch.faults == []


def test_a_stitcher_reads_and_touches_what_is_in_her_hands(browser: Browser, demo: Live) -> None:
    email = DEMO_EMAILS["tilly"]
    with demo.database.reading() as db:
        stitcher = db.exec(select(Account.stitcher_id).where(Account.email == email)).one()
        garment, step = db.exec(
            select(Garment.id, Garment.next_step_id)
            .join(Panel, col(Panel.garment_id) == Garment.id)
            .where(Panel.holder_id == stitcher, Garment.state == "in work")
        ).first() or (None, None)
        assert db.get(Step, step) is not None
    with closing(browser.new_context(viewport=PHONE, color_scheme="dark", base_url=demo.url)) as context:
        context.add_cookies([{"name": PLAIN_COOKIE, "value": _secret(demo, email), "url": demo.url}])
        page = context.new_page()
        watch = Watch(page, with_rules=True)
        for address in (
            "/",
            f"/garments/{garment}",
            f"/steps/{step}",
            "/stitchers/me",
            "/designs",
            "/cloth",
            "/reckoner",
        ):
            page.goto(address)
            watch.look(address)
            watch.touch(address)
            words = page.inner_text("body")
            assert ("£" in words) == (address == "/stitchers/me")  # what she is paid is hers to see, no price is
            assert "demo.example" not in words
        assert watch.faults == []
