"""From a commission to its deposit in a browser: an hour's cost, the quote, sent, a yes, a payment, the diary."""

from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect
from sqlmodel import select

from service.records.db import open_database
from service.records.tables import Commission, Stitcher
from service.records.tables.people import WEEKDAYS
from tests.browser.seeing import Watch
from tests.building import a_garment
from tests.serving import OWNER, PASSWORD, open_studio, serving


@pytest.mark.parametrize(("width", "scripted"), [(390, True), (1280, False)], ids=["phone", "without JavaScript"])
def test_from_a_commission_to_its_deposit(
    browser: Browser, empty_studio: Path, tmp_path: Path, width: int, scripted: bool
) -> None:
    path = tmp_path / "studio.sqlite"
    path.write_bytes(empty_studio.read_bytes())
    database = open_database(f"sqlite:///{path}")
    open_studio(database)
    with database.writing() as db:
        for stitcher in db.exec(select(Stitcher)):
            for day in WEEKDAYS:
                setattr(stitcher, f"minutes_{day}", 60)
            db.add(stitcher)
    context = browser.new_context(viewport={"width": width, "height": 844}, java_script_enabled=scripted)
    context.set_default_timeout(20_000)
    page = context.new_page()
    watch = Watch(page, with_rules=False)
    main = page.locator("main")
    with serving(database) as live:
        page.goto(f"{live.url}/login")
        page.locator("#f-email").fill(OWNER)
        page.locator("#f-password").fill(PASSWORD)
        page.get_by_role("button", name="Sign in").click()
        page.wait_for_url(f"{live.url}/")
        page.goto(f"{live.url}/diary")
        expect(main).not_to_contain_text("Handkerchief")
        watch.look("diary without work")
        with database.writing() as db:
            garment = a_garment(db, "handkerchief")
            db.get_one(Commission, garment.commission_id).state = "asked"
            commission, name = garment.commission_id, garment.name
        page.goto(f"{live.url}/commissions/{commission}")
        page.get_by_role("button", name="Draw up a quote").click()
        expect(main).to_contain_text("Nothing is quoted until the hour’s rate stands here.")
        watch.look("charges")
        page.get_by_role("button", name="Keep").click()
        expect(page.locator("#e-hour_rate")).to_contain_text("Enter what an hour costs.")
        watch.look("charges refused")
        page.locator("#f-hour_rate").fill("24")
        page.get_by_role("button", name="Keep").click()
        page.get_by_role("button", name="Draw up a quote").click()
        expect(main).to_contain_text("The price of not knowing")
        watch.look("draft")
        page.get_by_text("Add a line of your own").click()
        page.locator("#f-words").fill("A box to keep it in")
        page.locator("#f-sum").fill("12.50")
        page.locator("form", has=page.locator("#f-sum")).get_by_role("button", name="Add it").click()
        expect(main).to_contain_text("£12.50")
        page.get_by_role("link", name="Change A box to keep it in").click()
        watch.look("line")
        page.locator("#f-sum").fill("14")
        page.get_by_role("button", name="Keep").click()
        expect(main).to_contain_text("£14.00")
        page.get_by_role("link", name="What the client reads").click()
        expect(main).not_to_contain_text("A box to keep it in")
        watch.look("paper")
        page.go_back()
        page.get_by_role("button", name="It is sent: seal it").click()
        page.get_by_label("What is priced at nothing costs nothing more").check()
        page.get_by_role("button", name="It is sent: seal it").click()
        expect(main).to_contain_text("and sealed")
        watch.look("sent")
        page.get_by_role("button", name="Write the yes down").click()
        expect(main).to_contain_text("by Hester Vane")
        watch.look("accepted")
        page.goto(f"{live.url}/commissions/{commission}")
        expect(main).to_contain_text("agreed")
        watch.look("commission")
        page.get_by_role("link", name="Payments and what is owed").click()
        page.locator("#f-amount").fill("50")
        page.get_by_role("button", name="Write it down").click()
        expect(main).to_contain_text("£50.00 paid, bank transfer")
        watch.look("money")
        page.goto(f"{live.url}/quotes")
        expect(main).to_contain_text("due today")
        watch.look("waiting")
        page.goto(f"{live.url}/diary")
        expect(main).to_contain_text(name)
        watch.look("diary with the piece promised")
    context.close()
    database.close()
    assert watch.faults == []
