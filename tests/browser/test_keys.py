"""Keys of one or two letters lead about, rest while something is typed, can be turned off; what takes long says so."""

from contextlib import closing
from datetime import UTC, datetime

from playwright.sync_api import Browser, Route, expect
from sqlmodel import select

from service.records.tables import LoginSession
from service.studio.sign_in import PROOF_LASTS
from service.web.deps import PLAIN_COOKIE
from tests.browser.seeing import Watch
from tests.serving import OWNER, Live


def test_keys_lead_about_rest_while_typing_and_can_be_turned_off(browser: Browser, live: Live) -> None:
    with closing(live.signed_in(OWNER)) as client, closing(browser.new_context(base_url=live.url)) as context:
        secret = client.cookies[PLAIN_COOKIE]
        context.add_cookies([{"name": PLAIN_COOKIE, "value": secret, "url": live.url}])
        page = context.new_page()
        watch = Watch(page, with_rules=True)
        page.goto("/")
        page.keyboard.type("gc")
        expect(page).to_have_url(f"{live.url}/commissions")
        page.keyboard.press("/")
        page.keyboard.type("n?gs")
        expect(page.locator("#f-q")).to_have_value("n?gs")
        page.locator("h1").click()
        page.keyboard.press("n")
        expect(page).to_have_url(f"{live.url}/commissions/new")
        page.locator("h1").click()
        page.keyboard.press("?")
        sheet = page.get_by_role("dialog", name="Keys")
        expect(sheet).to_contain_text("Commissions")
        watch.look("the sheet of keys")
        sheet.get_by_label("Use these keys on this device").uncheck()
        page.keyboard.press("Escape")
        expect(sheet).to_be_hidden()
        page.keyboard.type("gd?")
        page.reload()
        expect(page).to_have_url(f"{live.url}/commissions/new")
        page.goto("/keys")
        page.get_by_label("Use these keys on this device").check()
        page.locator("h1").click()
        page.keyboard.type("gd")
        expect(page).to_have_url(f"{live.url}/diary")
        assert watch.faults == []


def test_what_takes_over_a_second_says_that_it_is_worked_on(browser: Browser, live: Live) -> None:
    with closing(live.signed_in(OWNER)) as client, closing(browser.new_context(base_url=live.url)) as context:
        context.add_cookies([{"name": PLAIN_COOKIE, "value": client.cookies[PLAIN_COOKIE], "url": live.url}])
        page = context.new_page()
        page.goto("/clients")
        waits: list[Route] = []

        def wait(route: Route) -> None:
            waits.append(route)

        page.route("**/clients?q=*", wait)
        page.locator("#f-q").press_sequentially("ivy")
        expect(page.locator("#working")).to_have_text("Still working on it …")
        waits[0].continue_()
        expect(page.locator("#found")).to_contain_text("Nobody found by “ivy”.")
        expect(page.locator("#working")).to_have_count(0)


def test_a_file_asked_for_with_the_password_says_that_it_is_put_together(browser: Browser, live: Live) -> None:
    with closing(live.signed_in(OWNER)) as client, closing(browser.new_context(base_url=live.url)) as context:
        with live.database.writing() as db:
            for session in db.exec(select(LoginSession)):
                session.proved_at = datetime.now(UTC) - PROOF_LASTS
        context.add_cookies([{"name": PLAIN_COOKIE, "value": client.cookies[PLAIN_COOKIE], "url": live.url}])
        page = context.new_page()
        page.goto("/settings/everything.zip")
        page.route("**/account/again", lambda route: route.fulfill(status=204))
        page.get_by_role("button", name="Go on").click()
        expect(page.locator("#working")).to_have_text("The file is being put together …")
