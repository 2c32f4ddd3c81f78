"""A half-done piece goes from one pair of hands to another in two browsers, and the work goes on at the next bundle."""

from collections.abc import Iterator
from contextlib import ExitStack, closing
from dataclasses import dataclass

import pytest
from playwright.sync_api import Browser, Page, ViewportSize, expect

from service.records.db import Reading
from service.records.tables import Panel, Step
from service.studio.handovers import Offer, pass_on
from service.web.deps import PLAIN_COOKIE
from tests.browser.seeing import Watch
from tests.building import a_garment
from tests.counting import count, number, person, step, stitcher_id, work_on
from tests.serving import OWNER, SECOND, START, STITCHER, Live

PHONE: ViewportSize = {"width": 390, "height": 844}


@dataclass(frozen=True)
class Hands:
    """One stitcher's phone."""

    page: Page
    watch: Watch

    def look(self, name: str) -> None:
        """Look at the page as it stands, and whether it can be touched."""
        self.watch.look(name)
        self.watch.touch(name)


@pytest.fixture
def bib(live: Live) -> int:
    """A bib in Wren's hands, 31 knots of its first band tied."""
    with live.database.writing() as db:
        garment_id, owner, wren = number(a_garment(db, "bib")), person(db, OWNER), person(db, STITCHER)
        pass_on(db, owner, wren, Offer(garment_id, wren.stitcher_id), START)
        work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
        count(db, wren, step(db, garment_id, "ladder_knot"), 31)
        return garment_id


@pytest.fixture
def phones(browser: Browser, live: Live) -> Iterator[tuple[Hands, Hands]]:
    """Wren's phone and Ida's, each signed in."""
    with ExitStack() as stack:
        both = []
        for email in (STITCHER, SECOND):
            context = stack.enter_context(closing(browser.new_context(viewport=PHONE, base_url=live.url)))
            with closing(live.signed_in(email)) as client:
                secret = client.cookies[PLAIN_COOKIE]
            context.add_cookies([{"name": PLAIN_COOKIE, "value": secret, "url": live.url}])
            page = context.new_page()
            both.append(Hands(page, Watch(page, with_rules=True)))
        yield both[0], both[1]
        assert [fault for one in both for fault in one.watch.faults] == []


def _knots(db: Reading, bib: int) -> Step:
    return step(db, bib, "ladder_knot")


def test_a_piece_is_given_taken_and_gone_on_with(phones: tuple[Hands, Hands], live: Live, bib: int) -> None:
    wren, ida = phones
    wren.page.goto(f"/garments/{bib}")
    wren.page.get_by_role("link", name="Hand it over").click()
    wren.page.get_by_label("Bib", exact=False).first.check()
    wren.page.get_by_label("Into whose hands").select_option(label="Ida Thorne")
    wren.page.get_by_label("Needles", exact=False).first.fill("2")
    wren.look("made ready")
    wren.page.get_by_role("button", name="Offer it").click()
    expect(wren.page.get_by_role("alert")).to_contain_text("Enter how many pins go with it.")
    wren.page.get_by_label("Pins", exact=False).first.fill("6")
    wren.page.get_by_role("button", name="Offer it").click()
    expect(wren.page.get_by_role("heading", level=1)).to_contain_text("From Wren Hallam to Ida Thorne")
    wren.look("offered")
    wren.page.goto(f"/garments/{bib}")
    wren.look("the garment, offered")

    ida.page.goto("/")
    ida.watch.look("the work table")
    ida.page.get_by_role("link", name="Count it in").click()
    ida.look("to be taken")
    ida.page.get_by_label("Needles", exact=False).fill("2")
    ida.page.get_by_label("Pins", exact=False).fill("6")
    ida.page.get_by_role("button", name="I have counted: I take it").click()
    expect(ida.page.locator(".state").first).to_contain_text("taken")
    ida.page.get_by_role("link", name="Knot the edges: bundle 32 of").click()
    expect(ida.page.locator("#step, main").first).to_contain_text("Next: bundle 32 of")
    with live.database.reading() as db:
        assert db.get_one(Panel, _knots(db, bib).panel_id).holder_id == stitcher_id(db, SECOND)
        before = _knots(db, bib).done_tenths
    ida.page.get_by_label("Done now").fill("4")
    ida.page.get_by_role("button", name="Count it").click()
    expect(ida.page.locator(".told")).to_contain_text("Counted: 4 knots.")
    with live.database.reading() as db:
        assert _knots(db, bib).done_tenths == before + 40
    wren.page.goto("/")
    expect(wren.page.locator("main")).not_to_contain_text("Bib with three bands")
