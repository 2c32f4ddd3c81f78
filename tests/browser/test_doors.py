"""The doors in a browser: a second step set on a phone, its code at the door, the password again with what was typed."""

from datetime import UTC, datetime, timedelta

import pyotp
import pytest
from playwright.sync_api import Browser, expect
from sqlmodel import select

from service.records.tables import LoginSession, Stitcher
from service.studio.sign_in import PROOF_LASTS
from tests.browser.seeing import Watch
from tests.serving import OWNER, PASSWORD, Live

TELLS_OF_A_REFUSAL = "status of 401"


@pytest.mark.parametrize(
    ("width", "scripted"), [(390, False), (1280, True)], ids=["phone, without JavaScript", "laptop"]
)
def test_in_by_password_and_code_and_asked_again_without_losing_a_word(
    browser: Browser, live: Live, width: int, scripted: bool
) -> None:
    context = browser.new_context(
        viewport={"width": width, "height": 844}, base_url=live.url, java_script_enabled=scripted
    )
    context.set_default_timeout(30_000)
    page = context.new_page()
    watch = Watch(page, with_rules=scripted)
    main, press = page.locator("main"), page.locator("main button[type=submit]")

    def give_password() -> None:
        page.locator("#f-email").fill(OWNER)
        page.locator("#f-password").fill(PASSWORD)
        press.click()

    page.goto("/login")
    give_password()
    page.goto("/account")
    watch.look("account")
    page.get_by_role("link", name="Set a second step").click()
    watch.look("second step")
    press.click()
    expect(main.locator("svg.qr")).to_be_visible()
    watch.look("picture")
    page.get_by_text("Type it in instead").click()
    phone = pyotp.TOTP((page.locator("details .figure").text_content() or "").replace(" ", ""))
    page.locator("#f-code").fill(phone.now())
    press.click()
    expect(main.locator("li .figure")).to_have_count(8)
    watch.look("recovery codes")
    codes = main.locator("li .figure").all_text_contents()
    page.goto("/settings/accounts/2")
    page.get_by_role("button", name="Make a link for a new password").click()
    watch.look("link")
    link = page.locator("#f-link").input_value()
    context.clear_cookies()
    page.goto(link)
    watch.look("come in")

    page.goto("/stitchers/new")
    give_password()
    watch.look("code")
    page.locator("#f-code").fill(codes[0])
    press.click()
    page.wait_for_url("**/stitchers/new")
    page.locator("#f-name").fill("Nan Pell")
    page.locator("#f-notes").fill("left-handed\nlikes the bay window")
    with live.database.writing() as db:
        for session in db.exec(select(LoginSession)):
            session.proved_at = datetime.now(UTC) - PROOF_LASTS - timedelta(seconds=1)
            db.add(session)
    press.click()
    expect(main).to_contain_text("Your password, please")
    watch.look("again")
    page.locator("#f-proof_password").fill(PASSWORD)
    page.locator("#f-proof_code").fill(codes[1])
    press.click()
    expect(page.locator("h1")).to_have_text("Nan Pell")
    with live.database.reading() as there:
        notes = there.exec(select(Stitcher.notes).where(Stitcher.name == "Nan Pell")).one()
    assert notes.splitlines() == ["left-handed", "likes the bay window"]
    assert [fault for fault in watch.faults if TELLS_OF_A_REFUSAL not in fault] == []
    context.close()
