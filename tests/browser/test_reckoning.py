"""The reckoner in the browser, from a garment: filled in, answered, wrong input told at its field, an answer kept."""

import re
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime

import pytest
from playwright.sync_api import Browser, Page, ViewportSize, expect
from sqlmodel import select

from service.records.tables import Commission, KeptResult
from service.studio.sign_in import begin_session
from service.web.deps import PLAIN_COOKIE
from tests.browser.seeing import Watch
from tests.building import a_garment
from tests.serving import Live

PHONE: ViewportSize = {"width": 390, "height": 844}


@pytest.fixture
def walk(browser: Browser, live: Live) -> Iterator[tuple[Page, Watch]]:
    """The owner's phone, with a christening gown being made."""
    with live.database.writing() as db:
        a_garment(db, "christening_gown")
        secret = begin_session(db, 1, datetime.now(UTC))
    with closing(browser.new_context(viewport=PHONE, base_url=live.url)) as context:
        context.add_cookies([{"name": PLAIN_COOKIE, "value": secret, "url": live.url}])
        page = context.new_page()
        watch = Watch(page, with_rules=True)
        yield page, watch
        assert watch.faults == []


def test_questions_open_with_the_garments_own_numbers_and_an_answer_is_kept(
    walk: tuple[Page, Watch], live: Live
) -> None:
    page, watch = walk
    for question, told in (
        ("How much cloth does this binding take?", "Cut the strips"),
        ("How much cloth is to be bought?", "Buy"),
        ("How wide is the block cut for these tucks?", "Cut the block"),
    ):
        page.goto("/garments/1/reckoned")
        page.get_by_role("link", name=question).click()
        if told == "Cut the strips":  # bound in a cloth that no panel is cut from
            page.get_by_label("Width of the cloth").fill("140")
            page.get_by_role("button", name="Reckon").click()
        expect(page.locator("#answer")).to_contain_text(told)
        expect(page.locator(".answer svg").first).to_be_visible()

    depth = page.get_by_label("Depth of a tuck")
    held, spacing = depth.input_value(), page.get_by_label("Fold to fold").input_value()
    depth.fill(str(float(spacing or 20) * 2))
    page.get_by_role("button", name="Reckon").click()
    expect(page.locator("#e-depth")).to_be_visible()
    expect(page.locator("#answer")).to_have_count(0)
    expect(depth).to_have_value(re.compile(r"\d"))
    assert depth.input_value() != held
    watch.look("a depth that cannot be")

    depth.fill(held)
    page.get_by_role("button", name="Reckon").click()
    told = page.locator("#answer").inner_text()
    page.get_by_role("button", name=re.compile("^Keep it with")).click()
    expect(page.locator("main")).to_contain_text(told)
    with live.database.reading() as db:
        kept = db.exec(select(KeptResult)).one()
    assert (kept.route, kept.garment_id) == ("tucks", 1)


def test_the_child_is_measured_for_the_garment_on_its_commission(walk: tuple[Page, Watch], live: Live) -> None:
    page, _ = walk
    with live.database.reading() as db:
        commission = db.exec(select(Commission.id)).first()
    page.goto("/garments/1/reckoned")
    page.get_by_role("link", name="How large will the child be on the day?").click()
    expect(page).to_have_url(re.compile(rf"/commissions/{commission}/fit"))
    page.goto("/reckoner/fit?sex=girl&born=2026-06-01&on=2026-05-01")
    expect(page.locator(".error-summary")).to_be_visible()
    expect(page.get_by_label("Born on")).to_have_value("2026-06-01")
    page.get_by_label("Worn on").fill("2027-05-16")
    page.get_by_role("button", name="Reckon").click()
    expect(page.locator("#answer")).to_be_visible()
    expect(page.locator(".caution")).to_contain_text("not a health check")


def test_thread_that_was_really_used_is_found_again_in_the_reckoner(walk: tuple[Page, Watch]) -> None:
    page, watch = walk
    page.goto("/reckoner/thread?garment=1")
    page.get_by_label("Length of a skein").fill("8")
    page.get_by_label("Reckoned before, uncorrected").fill("10")
    page.get_by_label("Really used of it").fill("12")
    page.get_by_role("button", name="Reckon").click()
    expect(page.locator(".answer")).to_contain_text("learned")
    page.get_by_role("link", name="Write down what").click()
    expect(page.locator("main")).to_contain_text("Nothing of it is sewn yet.")
    watch.look("the thread of a garment")
