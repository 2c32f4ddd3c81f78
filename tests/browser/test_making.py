"""Making a garment in the browser: choosing, changing a choice, answering what waits, confirming."""

import re
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime

import pytest
from playwright.sync_api import Browser, Page, ViewportSize, expect
from sqlmodel import select

from service.records.tables import Garment, Section
from service.studio.sign_in import begin_session
from service.web.deps import PLAIN_COOKIE
from tests.browser.seeing import Watch
from tests.building import a_cloth, a_commission, a_design
from tests.serving import Live

PHONE: ViewportSize = {"width": 390, "height": 844}
LAPTOP: ViewportSize = {"width": 1280, "height": 900}


@dataclass(frozen=True)
class Making:
    """The page of making, who looks at it, and whether it has scripts."""

    page: Page
    live: Live
    watch: Watch
    scripted: bool

    def choose(self, field: str, words: str) -> None:
        """Choose by its words; without scripts the page is looked at again by its button."""
        select_of = self.page.locator(f'select[name="{field}"]')
        value = select_of.locator("option").filter(has_text=words).first.get_attribute("value")
        if self.scripted:
            with self.page.expect_response(lambda answer: "/make" in answer.url):
                select_of.select_option(value)
            expect(self.page.locator(".htmx-request, .htmx-swapping, .htmx-settling")).to_have_count(0)
        else:
            select_of.select_option(value)
            self.page.get_by_role("button", name=re.compile("^Look at it")).first.click()


@pytest.fixture(params=[True, False], ids=["with scripts", "without scripts"])
def scripted(request: pytest.FixtureRequest) -> bool:
    """Whether the browser runs scripts."""
    return bool(request.param)


@pytest.fixture(params=[LAPTOP, PHONE], ids=["laptop", "phone"])
def making(request: pytest.FixtureRequest, browser: Browser, live: Live, scripted: bool) -> Iterator[Making]:
    """The page of making for a commission, with a bib whose bands ask what is done with odd threads."""
    with live.database.writing() as db:
        commission, design = a_commission(db), a_design(db, "bib")
        design.document = re.sub(r'left_over = "\w+"\n', "", design.document)
        db.add(design)
        a_cloth(db)
        a_cloth(db, "Uneven linen", warp=213, weft=207)
        secret = begin_session(db, 1, datetime.now(UTC))
        path = f"/commissions/{commission.id}/make"
    with closing(
        browser.new_context(viewport=request.param, java_script_enabled=scripted, base_url=live.url)
    ) as context:
        context.add_cookies([{"name": PLAIN_COOKIE, "value": secret, "url": live.url}])
        page = context.new_page()
        watch = Watch(page, with_rules=scripted)
        page.goto(path)
        yield Making(page, live, watch, scripted)
        assert watch.faults == []


def test_a_garment_is_chosen_section_by_section_and_made(making: Making) -> None:
    page = making.page
    making.choose("design", "Bib")
    making.choose("cloth.bib", "Uneven linen")
    making.choose("cloth.binding", "Fine linen")
    expect(page.locator(".waiting")).to_contain_text("wait for a choice")
    _look(making, "waiting")
    ladder = page.locator(".piece-made").filter(has=page.get_by_role("heading", name="Upper ladder"))
    before = ladder.locator("tr", has_text="Threads withdrawn").locator("td").nth(1).inner_text()
    making.choose(ladder.locator('select[name^="depth."]').get_attribute("name") or "", "keeps its threads")
    expect(ladder.locator("tr", has_text="Threads withdrawn").locator("td").nth(1)).not_to_have_text(before)
    page.get_by_role("button", name="Make it on this cloth").click()
    expect(page.get_by_role("alert")).to_contain_text("Some sections wait for a choice.")
    _answer(making)
    expect(page.locator(".waiting")).to_have_count(0)
    _look(making, "answered")
    page.get_by_label("Name of this garment").fill("Ivy's bib")
    page.get_by_role("button", name="Make it on this cloth").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Ivy's bib")
    with making.live.database.reading() as db:
        garment = db.exec(select(Garment)).one()
        kept = db.exec(select(Section).where(Section.garment_id == garment.id, Section.depth_choice == "keep_threads"))
        assert [section.name for section in kept] == ["Upper ladder"]


def _look(making: Making, name: str) -> None:
    if making.scripted:
        making.watch.look(name)


def _answer(making: Making) -> None:
    waiting = making.page.locator('.piece-made.waits select[name^="left."]')
    names = [waiting.nth(at).get_attribute("name") or "" for at in range(waiting.count())]
    assert names
    for name in names:
        making.choose(name, "stop the band some threads shorter")
