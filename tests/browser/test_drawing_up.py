"""Drawing a design up in the browser: the drawing and the fields follow what is typed, with scripts and without."""

import re
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime

import pytest
from playwright.sync_api import Browser, Page, Route, expect
from sqlmodel import select

from service.records.tables import Design
from service.studio.sign_in import begin_session
from service.web.deps import PLAIN_COOKIE
from tests.browser.seeing import Watch
from tests.building import a_design
from tests.serving import Live


@pytest.fixture(params=[True, False], ids=["with scripts", "without scripts"])
def drawing_up(request: pytest.FixtureRequest, browser: Browser, live: Live) -> Iterator[tuple[Page, bool]]:
    """The page of a new section on the day gown's front, and whether the browser runs scripts."""
    with live.database.writing() as db:
        design = a_design(db)
        secret = begin_session(db, 1, datetime.now(UTC))
        path = f"/designs/{design.id}/add-section?panel=front"
    with closing(browser.new_context(java_script_enabled=request.param, base_url=live.url)) as context:
        context.add_cookies([{"name": PLAIN_COOKIE, "value": secret, "url": live.url}])
        page = context.new_page()
        watch = Watch(page, with_rules=request.param)
        page.goto(path)
        yield page, request.param
        assert watch.faults == []


def test_a_band_is_drawn_while_it_is_typed_and_then_kept(drawing_up: tuple[Page, bool], live: Live) -> None:
    page, scripted = drawing_up
    _choose(page, scripted, "kind", "serpentine")
    expect(page.get_by_text("The second edge splits each bundle").first).to_be_visible()
    _fill(page, scripted, "distance_mm", "150")
    _fill(page, scripted, "withdraw_threads", "14")
    beside = page.locator("#beside")
    expect(beside).to_contain_text("As typed, not kept yet.")
    expect(beside).to_contain_text("14, 7.4 mm")
    _fill(page, scripted, "withdraw_threads", "none")
    expect(beside).to_contain_text("As it was last kept")
    _fill(page, scripted, "withdraw_threads", "16")
    expect(beside).to_contain_text("16, 8.4 mm")
    page.get_by_role("button", name="Keep this section").click()
    expect(page.locator(".parts").get_by_role("link", name="Serpentine", exact=True)).to_be_visible()
    with live.database.reading() as db:
        document = db.exec(select(Design)).one().document
    assert '[panels.front.sections.serpentine]\nname = "Serpentine"\nkind = "serpentine"' in document
    assert "withdraw_threads = 16\n" in document.split("sections.serpentine]")[1]


def test_what_is_typed_while_the_fields_of_another_kind_come_is_kept(drawing_up: tuple[Page, bool], live: Live) -> None:
    page, scripted = drawing_up
    held: list[Route] = []
    holding = scripted
    page.route("**/look*", lambda route: held.append(route) if holding else route.continue_())
    if scripted:
        page.locator('select[name="kind"]').select_option("serpentine")
    else:
        _choose(page, scripted, "kind", "serpentine")
    page.locator("#f-distance_mm").fill("150")
    page.locator("#f-from_mm").fill("130")
    holding = False
    for route in held:
        route.continue_()
    expect(page.get_by_text("The second edge splits each bundle").first).to_be_visible()
    expect(page.locator("#f-distance_mm")).to_have_value("150")
    expect(page.locator("#f-from_mm")).to_have_value("130")
    page.get_by_role("button", name="Keep this section").click()
    expect(page.locator(".parts").get_by_role("link", name="Serpentine", exact=True)).to_be_visible()
    with live.database.reading() as db:
        kept = db.exec(select(Design)).one().document.split("sections.serpentine]")[1]
    assert "distance_mm = 150\n" in kept
    assert "from_mm = 130\n" in kept


@pytest.mark.parametrize("late", [False, True], ids=["while it is pressed", "after it was pressed"])
def test_the_press_that_leaves_the_last_field_keeps_the_section(
    drawing_up: tuple[Page, bool], live: Live, late: bool
) -> None:
    page, scripted = drawing_up
    if late:
        page.route("**/add-section/look*", lambda _: None)
    keep = page.get_by_role("button", name="Keep this section")
    page.locator('input[name="name"]').fill("Wide ladder")
    keep.hover()
    page.mouse.down()
    if scripted and not late:
        expect(page.locator("#beside")).to_contain_text("As typed, not kept yet.")
    page.mouse.up()
    expect(page.locator(".parts").get_by_role("link", name="Wide ladder", exact=True)).to_be_visible()
    with live.database.reading() as db:
        assert 'name = "Wide ladder"' in db.exec(select(Design)).one().document


def test_enter_in_a_field_keeps_the_section(drawing_up: tuple[Page, bool]) -> None:
    page, _ = drawing_up
    page.locator('input[name="name"]').fill("Wide ladder")
    page.keyboard.press("Enter")
    expect(page.locator(".parts").get_by_role("link", name="Wide ladder", exact=True)).to_be_visible()


def test_what_cannot_be_drawn_is_told_in_its_own_sentence(drawing_up: tuple[Page, bool]) -> None:
    page, scripted = drawing_up
    _fill(page, scripted, "withdraw_threads", "none")
    told = page.locator("#said" if scripted else ".error-summary")
    expect(told).to_have_text(re.compile(r"Enter .* as a (whole )?number"))


def _choose(page: Page, scripted: bool, field: str, value: str) -> None:
    if scripted:
        with page.expect_response(lambda answer: answer.request.headers.get("hx-target") == "fields"):
            page.locator(f'select[name="{field}"]').select_option(value)
    else:
        page.locator(f'select[name="{field}"]').select_option(value)
        page.get_by_role("button", name="Draw it again").click()


def _fill(page: Page, scripted: bool, field: str, typed: str) -> None:
    page.locator(f'input[name="{field}"]').fill(typed)
    if scripted:
        page.locator(f'input[name="{field}"]').blur()
    else:
        page.get_by_role("button", name="Draw it again").click()
