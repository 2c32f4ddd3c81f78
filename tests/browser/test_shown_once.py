"""Links and codes that are shown once: a press takes them whole and says so; without scripts they stand to be selected."""

import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pyotp
import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from service.studio import second_step
from tests.browser.at_table import sign_in
from tests.browser.seeing import Watch
from tests.building import a_commission
from tests.counting import number, person
from tests.serving import OWNER, Live

NO_CLIPBOARD = "Object.defineProperty(navigator, 'clipboard', { value: undefined })"
# What was copied is pasted into an empty area, as she would into her own mail.
AREA = "document.body.append(Object.assign(document.createElement('textarea'), { id: 'pasted' }))"


@pytest.fixture
def context(browser: Browser, live: Live) -> Iterator[BrowserContext]:
    """A browser of the owner's on a phone."""
    with browser.new_context(base_url=live.url, viewport={"width": 390, "height": 844}) as made:
        sign_in(made, live.database, live.url, OWNER)
        yield made


def _drafted(page: Page, live: Live) -> None:
    """Draft a message with a link to a client's window."""
    with live.database.writing() as db:
        commission = number(a_commission(db))
    page.goto(f"/commissions/{commission}/window")
    page.get_by_label("how it stands").check()
    page.get_by_role("button", name="Draft the message").click()
    expect(page.get_by_label("The link alone")).to_have_value(re.compile(r"^http.+/window/in/[\w-]{43}$"))


def _pasted(page: Page) -> str:
    page.evaluate(AREA)
    page.locator("#pasted").focus()
    page.keyboard.press("Control+v")
    return page.locator("#pasted").input_value()


@pytest.mark.parametrize("has_clipboard", [True, False], ids=["over https", "in the house's own network"])
def test_a_link_is_copied_by_one_press_that_says_so(
    context: BrowserContext, live: Live, *, has_clipboard: bool
) -> None:
    if has_clipboard:
        context.grant_permissions(["clipboard-read", "clipboard-write"])
    else:
        context.add_init_script(NO_CLIPBOARD)
    page = context.new_page()
    watch = Watch(page, with_rules=True)
    _drafted(page, live)
    watch.look("a message drafted")
    copy = page.get_by_role("button", name="Copy the link")
    told = copy.locator("xpath=following-sibling::*[@role='status']")
    expect(told).to_be_empty()
    copy.press("Enter")
    expect(told).to_have_text("Copied")
    expect(copy).to_be_focused()
    assert _pasted(page) == page.get_by_label("The link alone").input_value()
    assert watch.faults == []


def test_a_page_of_which_the_browser_copies_nothing_says_that_it_is_selected(
    context: BrowserContext, live: Live
) -> None:
    context.add_init_script(f"{NO_CLIPBOARD}; document.execCommand = () => false")
    page = context.new_page()
    _drafted(page, live)
    page.get_by_role("button", name="Copy the link").click()
    expect(page.get_by_text("It is selected: copy it with your browser.")).to_be_visible()
    link = page.get_by_label("The link alone")
    assert link.evaluate("each => each.value.slice(each.selectionStart, each.selectionEnd)") == link.input_value()


def _has_second_step(live: Live) -> None:
    before = datetime.now(UTC) - timedelta(days=1)
    with live.database.writing() as db:
        owner = person(db, OWNER).id
        phone = pyotp.TOTP(second_step.begin(db, owner, before).secret)
        second_step.confirm(db, owner, phone.at(before), before)


@pytest.mark.parametrize("scripted", [True, False], ids=["with JavaScript", "without"])
def test_all_codes_are_copied_at_once_or_selected_by_a_tap_on_one(
    browser: Browser, live: Live, *, scripted: bool
) -> None:
    _has_second_step(live)
    with browser.new_context(base_url=live.url, java_script_enabled=scripted) as context:
        sign_in(context, live.database, live.url, OWNER)
        context.grant_permissions(["clipboard-read", "clipboard-write"])
        page = context.new_page()
        watch = Watch(page, with_rules=scripted)
        page.goto("/account/second-step")
        page.get_by_role("button", name="Make new recovery codes").click()
        codes = page.locator("#codes li").all_inner_texts()
        assert len(codes) == second_step.RECOVERY_CODES
        watch.look("recovery codes")
        copy = page.get_by_role("button", name="Copy all codes")
        if scripted:
            copy.click()
            expect(page.get_by_text("Copied")).to_be_visible()
        else:
            expect(copy).to_be_hidden()
            page.locator("#codes li").first.click()
            page.keyboard.press("Control+c")
        assert _pasted(page).split() == codes
        assert watch.faults == []


@pytest.mark.parametrize("scripted", [True, False], ids=["with JavaScript", "without"])
def test_back_and_a_reload_show_what_was_made_a_moment_ago_and_send_nothing_again(
    browser: Browser, live: Live, *, scripted: bool
) -> None:
    with browser.new_context(base_url=live.url, java_script_enabled=scripted) as context:
        sign_in(context, live.database, live.url, OWNER)
        page = context.new_page()
        _drafted(page, live)
        link = page.get_by_label("The link alone").input_value()
        page.reload()
        expect(page.get_by_label("The link alone")).to_have_value(link)
        page.goto("/diary/calendar")
        page.go_back()
        expect(page.get_by_label("The link alone")).to_have_value(link)
        page.get_by_role("link", name="The client’s window").click()
        expect(page.get_by_role("row")).to_have_count(2)
        page.goto("/diary/calendar")
        page.get_by_role("button", name="Make an address").click()
        expect(page.get_by_label("The address")).to_have_value(re.compile(r"/calendar/[\w-]+\.ics$"))
        page.go_back()
        page.go_forward()
        expect(page.get_by_label("The address")).to_have_value(re.compile(r"/calendar/[\w-]+\.ics$"))
        expect(page.get_by_role("listitem").filter(has_text="Made on")).to_have_count(1)
        page.get_by_role("button", name="Sign out").click()
        expect(page).to_have_url(re.compile("/login"))
        assert [cookie["name"] for cookie in context.cookies() if "shown" in str(cookie["name"])] == []
