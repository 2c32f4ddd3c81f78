"""Without a pointer, after a swap, and on the way back: focus stays, is told, and whole pages come again."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.at_table import Gown, done, phone, until_sent
from tests.serving import OWNER, Live

MOST_PRESSES = 60
SEEN = """() => {
    const each = document.activeElement, look = getComputedStyle(each), box = each.getBoundingClientRect();
    const ring = look.outlineStyle !== "none" && parseFloat(look.outlineWidth) >= 2;
    return ring && box.bottom > 0 && box.top < innerHeight && box.width > 0;
}"""


@pytest.fixture
def page(browser: Browser, live_gown: Live) -> Iterator[Page]:
    """A laptop on which the owner is signed in, whose pointer nobody touches; she wants nothing to move."""
    with phone(browser, live_gown, OWNER, service_workers="block", reduced_motion="reduce") as context:
        yield context.new_page()


def _to(page: Page, selector: str) -> None:
    """Go on by Tab until that is reached; whatever is reached on the way can be seen to be."""
    for _ in range(MOST_PRESSES):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement === document.body"):
            continue
        assert page.evaluate(SEEN), page.evaluate("document.activeElement.outerHTML.slice(0, 200)")
        if page.evaluate("wanted => document.activeElement.matches(wanted)", selector):
            return
    raise AssertionError(f"{selector} was not reached by Tab")


def test_a_piece_is_found_counted_undone_and_put_away_by_the_keyboard_alone(
    page: Page, gown: Gown, live_gown: Live
) -> None:
    page.goto("/")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")  # skips to the page itself
    _to(page, "main a[href^='/garments/']:not(svg *)")
    page.keyboard.press("Enter")
    page.wait_for_url("**/garments/*")
    _to(page, "main a.act[href$='/table']")
    page.keyboard.press("Enter")
    page.wait_for_url("**/table")
    expect(page.locator(".band svg")).to_be_visible()
    _to(page, ".band")
    for key in ("ArrowUp", "ArrowUp", "Enter"):
        page.keyboard.press(key)
    expect(page.locator("#told")).to_have_text("Counted: 3 bundles, to 3.")
    _to(page, "#f-reached")
    page.keyboard.type("12")
    page.keyboard.press("Enter")
    expect(page.locator("#told")).to_have_text("Counted: 9 bundles, to 12.")
    _to(page, "#undo-last")
    page.keyboard.press("Enter")
    expect(page.locator("#told")).to_have_text("Taken back: 9 bundles.")
    expect(page.locator("#undo-last")).to_be_focused()
    _to(page, "#f-needles")
    page.keyboard.type("2")
    _to(page, "#f-pins")
    page.keyboard.type("0")
    page.keyboard.press("Enter")
    expect(page.locator("#needles-said")).to_contain_text("Out: 2 needles, 0 pins.")
    expect(page.locator("#needles-said")).to_be_focused()  # the page came anew, and she is where she was
    until_sent(page)
    assert done(live_gown, gown.knots) == 3
    _to(page, "a[href$='/steer']")
    page.keyboard.press("Enter")
    page.wait_for_url("**/steer")
    _to(page, "#f-threads_left")
    page.keyboard.press("Enter")  # nothing is typed: the fault is said, reached, and leads to its field
    expect(page.locator(".error-summary")).to_be_focused()
    _to(page, ".error-summary a")
    page.keyboard.press("Enter")
    expect(page.locator("#f-threads_left")).to_be_focused()


def test_after_a_swap_focus_stays_and_what_happened_is_said(page: Page, gown: Gown) -> None:
    page.goto(f"/steps/{gown.knots}")
    _to(page, "#quick-10")
    page.keyboard.press("Enter")
    expect(page.locator("#said")).to_have_text("Counted: 10 knots.")
    expect(page.locator("#quick-10")).to_be_focused()
    page.fill("#f-counted", "x")
    page.focus("#count-it")
    page.keyboard.press("Enter")
    expect(page.locator(".error-summary")).to_be_focused()
    expect(page).to_have_title("Error: Knot the edges, Ladder above the hem – Larkfield Whitework")
    moving = "[...document.querySelectorAll('*')].filter(each => { const { transitionDuration: one, animationName: two } = getComputedStyle(each); return !/^0s(, 0s)*$/.test(one) || two !== 'none'; }).length"
    assert page.evaluate(moving) == 0


def test_back_always_brings_a_whole_page_as_it_is_now(page: Page) -> None:
    for path, field, part in (
        ("/", "#f-q", "#found"),
        ("/clients", "#f-q", "#found"),
        ("/commissions", "#f-q", "#found"),
    ):
        page.goto(path)
        if (finder := page.locator("details.finder summary")).count():
            finder.click()
        with page.expect_response(lambda answer: "q=" in answer.url):
            page.fill(field, "e")
        page.locator(f"{part} a").first.click()
        page.wait_for_load_state()
        page.go_back()
        expect(page.locator("header.heading")).to_have_count(1)
        expect(page.locator(field)).to_have_count(1)
    page.goto("/clients")
    page.get_by_role("link", name="Hester Vane").click()
    page.get_by_role("link", name="Change").click()
    page.fill("#f-name", "Hester Reed")
    page.get_by_role("button", name="Keep").click()
    page.wait_for_load_state()
    page.go_back()
    page.go_back()
    page.go_back()
    expect(page.get_by_role("link", name="Hester Reed")).to_be_visible()
    page.locator("details.ways summary").click()
    page.locator(".sign-out button").click()
    page.wait_for_url("**/login")
    page.go_back()
    expect(page.locator("body")).not_to_contain_text("Hester")


def test_what_does_not_come_through_is_said_and_stays_typed(page: Page, gown: Gown, live_gown: Live) -> None:
    page.goto(f"/steps/{gown.knots}")
    page.fill("#f-counted", "7")
    page.context.set_offline(True)
    page.click("#count-it")
    expect(page.locator("#said")).to_contain_text("That did not reach the studio's book.")
    expect(page.locator("#f-counted")).to_have_value("7")
    page.context.set_offline(False)
    page.dblclick("#count-it")
    expect(page.locator("#said")).to_have_text("Counted: 7 knots.")
    assert done(live_gown, gown.knots) == 7
    page.context.clear_cookies()
    page.fill("#f-counted", "5")
    page.click("#count-it")
    expect(page.locator("#step form form, #step #f-password")).to_have_count(0)
    expect(page.locator("body")).to_contain_text("signed out")
