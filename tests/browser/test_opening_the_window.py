"""A client on her phone: she opens the link, reads, answers what is asked and accepts; the owner sees it."""

from datetime import UTC, datetime
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from service.records.db import open_database
from service.studio.promising import send
from service.studio.quotes import draw_up
from service.studio.window import want
from tests.browser.seeing import Watch
from tests.building import a_garment
from tests.counting import number, person
from tests.quoting import charge, foresight
from tests.serving import OWNER, open_studio, serving


@pytest.mark.parametrize("scripted", [True, False], ids=["with JavaScript", "without"])
def test_a_client_opens_reads_answers_and_accepts_on_her_phone(
    browser: Browser, empty_studio: Path, tmp_path: Path, scripted: bool
) -> None:
    path = tmp_path / "studio.sqlite"
    path.write_bytes(empty_studio.read_bytes())
    database = open_database(f"sqlite:///{path}")
    open_studio(database)
    with database.writing() as db:
        charge(db)
        owner, now = person(db, OWNER), datetime.now(UTC)
        commission_id = a_garment(db, "handkerchief").commission_id
        quote = draw_up(db, commission_id, foresight(), owner, now)
        send(db, number(quote), quote.version, owner, now)
        want(db, owner, commission_id, ("measurement", "The width of the hem you like"), now)
    with serving(database) as live:
        with live.signed_in(OWNER) as client:
            made = {"kind": "quote", "label": "Hester", "days": "30"}
            drafted = client.post(f"/commissions/{commission_id}/window/links", data=made, follow_redirects=True).text
        link = drafted.partition('id="f-link" value="')[2].partition('"')[0]
        context = browser.new_context(
            viewport={"width": 390, "height": 844},
            java_script_enabled=scripted,
            has_touch=True,
            color_scheme="dark" if scripted else "light",
        )
        context.set_default_timeout(20_000)
        page = context.new_page()
        watch = Watch(page, with_rules=scripted)
        page.goto(link)
        watch.look("door")
        page.get_by_role("button", name="Open it").click()
        expect(page.locator("h1")).to_have_text("Christening of Ivy")
        assert page.url == f"{live.url}/window"
        watch.look("window")
        page.get_by_label("Your answer").fill("One centimetre, please")
        page.get_by_role("button", name="Send it to the studio").click()
        expect(page.get_by_text("You wrote: One centimetre, please")).to_be_visible()
        page.get_by_role("link", name="Read it and accept it").click()
        watch.look("quote")
        page.get_by_role("button", name="Accept £").click()
        expect(page.locator("#e-name")).to_contain_text("Enter your name.")
        watch.look("quote refused")
        page.locator("#f-name").fill("Hester Vane")
        page.locator("#f-read").check()
        page.get_by_role("button", name="Accept £").click()
        expect(page.get_by_role("link", name="A receipt of it")).to_be_visible()
        watch.look("accepted")
        page.get_by_role("link", name="Back to your window").click()
        expect(page.get_by_text("Paid and due")).to_be_visible()
        assert watch.faults == []
        context.close()
        with live.signed_in(OWNER) as client:
            page_of_owner = client.get(f"/commissions/{commission_id}/window").text
            assert "One centimetre, please" in page_of_owner
            assert "agreed" in client.get(f"/commissions/{commission_id}").text
    database.close()
