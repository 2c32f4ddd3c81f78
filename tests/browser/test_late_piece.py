"""A late piece in the browser: seen on the work table, what would help, tried, planned, and the diary moves."""

from contextlib import closing
from datetime import UTC, datetime, timedelta

import pytest
from playwright.sync_api import Browser, Page, ViewportSize, expect
from sqlmodel import select

from service.records.db import Writing
from service.records.tables import Garment, Panel
from service.studio.foresight import Foresight
from service.studio.rates import Learning
from service.studio.sign_in import begin_session
from service.studio.standing import resummarise
from service.studio.stitchers import change_hours
from service.web.deps import PLAIN_COOKIE
from tests.browser.seeing import Watch
from tests.building import a_garment
from tests.counting import number, stitcher_id
from tests.serving import SECOND, STITCHER, Live

PHONE: ViewportSize = {"width": 390, "height": 844}


def a_late_bonnet(db: Writing) -> None:
    """A bonnet that one stitcher cannot finish by its day, while another has as many hours."""
    garment = a_garment(db, "bonnet")
    for email in (STITCHER, SECOND):
        change_hours(db, stitcher_id(db, email), (60,) * 7)
    for panel in db.exec(select(Panel).where(Panel.garment_id == garment.id)):
        panel.holder_id = stitcher_id(db, STITCHER)
        db.add(panel)
    db.flush()
    today = datetime.now(UTC).date()
    likely = Foresight(Learning()).exact(db, today).days_of(number(garment)).likely
    assert likely is not None
    garment.wanted_on = likely - timedelta(days=5)
    db.add(garment)
    resummarise(db, number(garment))


def _likely_done(page: Page) -> str:
    """The day under which the diary's list of roads says that it is likely done."""
    return page.locator(".d-road text").filter(has_text="likely").text_content() or ""


def _percent(page: Page) -> int:
    """The chance that the work table shows."""
    shown = page.locator(".chance").inner_text()
    return int(shown.split("%")[0])


@pytest.mark.parametrize("scripted", [True, False], ids=["with scripts", "without scripts"])
def test_a_late_piece_is_helped_and_the_diary_moves(browser: Browser, live: Live, scripted: bool) -> None:
    with live.database.writing() as db:
        a_late_bonnet(db)
        secret = begin_session(db, 1, datetime.now(UTC))
    with closing(browser.new_context(viewport=PHONE, java_script_enabled=scripted, base_url=live.url)) as context:
        context.add_cookies([{"name": PLAIN_COOKIE, "value": secret, "url": live.url}])
        page = context.new_page()
        watch = Watch(page, with_rules=scripted)
        page.goto("/diary")
        before = _likely_done(page)
        page.goto("/")
        expect(page.locator(".hurry strong")).to_have_text("Likely late")
        late = _percent(page)
        page.get_by_role("link", name="what would help").click()
        expect(page.get_by_role("heading", level=1)).to_contain_text("What would help")
        watch.look("what would help")
        page.get_by_role("link", name="Look at it").first.click()
        expect(page.get_by_role("heading", level=2)).to_contain_text("in Ida Thorne’s hands")
        watch.look("tried")
        page.get_by_role("button", name="Plan it so").click()
        expect(page.get_by_role("heading", name="Planned for other hands")).to_be_visible()
        watch.look("the diary")
        assert _likely_done(page) != before
        page.goto("/")
        assert _percent(page) > late
        assert watch.faults == []
        with live.database.reading() as db:
            assert db.exec(select(Garment.state)).one() == "planned"
