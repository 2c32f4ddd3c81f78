"""The whole main job in a browser: from an empty studio to a half-done garment, with and without JavaScript."""

import re
from collections.abc import Iterator
from dataclasses import dataclass

import pytest
from playwright.sync_api import Browser, Page, expect
from sqlmodel import select

from service.records.tables import Garment, Step
from tests.browser.seeing import Watch
from tests.serving import Live

A_BREATH_MS = 400  # a press that comes sooner after another is taken for the second of a double tap
HEIGHTS = {390: 844, 1280: 900}


@dataclass
class Walk:
    """One walk through the studio."""

    live: Live
    page: Page
    watch: Watch

    def open(self, path: str, name: str) -> None:
        """Open a page and look at it."""
        self.page.goto(self.live.url + path)
        self.watch.look(name)

    def press(self, words: str, then: str = "", name: str = "") -> None:
        """Press a button; wait for the words that follow, and look at the page."""
        self.page.get_by_role("button", name=words, exact=True).first.click()
        if then:
            expect(self.page.get_by_text(then).first).to_be_visible()
        if name:
            self.watch.look(name)

    def follow(self, words: str, name: str = "") -> None:
        """Follow a link and look at the page it leads to."""
        self.page.locator("main").get_by_role("link", name=re.compile(words)).first.click()
        self.page.wait_for_load_state()
        if name:
            self.watch.look(name)

    def fill(self, **typed: str) -> None:
        """Fill in fields by their names, a double underline standing for a hyphen."""
        for field, value in typed.items():
            self.page.locator(f"#f-{field.replace('__', '-')}").fill(value)

    def choose(self, field: str, words: str) -> None:
        """Choose by what the list says."""
        box = self.page.locator(f'[name="{field}"]')
        value = box.locator("option").filter(has_text=words).first.get_attribute("value")
        box.select_option(value)


@pytest.fixture(params=[(390, True), (1280, False)], ids=["phone with JavaScript", "laptop without"])
def walk(browser: Browser, unopened: Live, request: pytest.FixtureRequest) -> Iterator[Walk]:
    """A walk on a screen that wide, with scripts or without."""
    width, scripted = request.param
    context = browser.new_context(
        viewport={"width": width, "height": HEIGHTS[width]},
        java_script_enabled=scripted,
        color_scheme="light" if scripted else "dark",
        has_touch=width < 400,
    )
    context.set_default_timeout(20_000)
    page = context.new_page()
    yield Walk(unopened, page, Watch(page, with_rules=False))
    context.close()


def test_from_an_empty_studio_to_a_half_done_bib(walk: Walk) -> None:
    _open_the_studio(walk)
    _measure_a_cloth(walk)
    _pick_a_design(walk)
    _promise(walk)
    _make(walk)
    _see_a_price(walk)
    _cut_and_mark(walk)
    _be_refused_out_of_order(walk)
    _go_on_to_the_knots(walk)
    _count_down(walk)
    _see_where_it_stands(walk)
    assert walk.watch.faults == []


def _open_the_studio(walk: Walk) -> None:
    walk.open("/", "first page")
    walk.fill(name="Ottilie Brook", email="owner@studio.example", password="seven linen threads")
    walk.fill(studio_name="Larkfield Whitework")
    walk.press("Open the studio", "Money and units", "second page")
    walk.fill(hour_rate="28")
    walk.press("Keep, and go on to the hours", "Hours at the needle", "third page")
    walk.fill(hours_mon="3", hours_thu="4")
    walk.press("Keep, and go on to the cloth", "Your first cloth", "fourth page")


def _measure_a_cloth(walk: Walk) -> None:
    walk.fill(name="Fine linen", fibre="linen", width="140", on_hand="4", over="5 cm")
    walk.fill(**{f"warp__{place}": "100" for place in (1, 2, 3)}, **{f"weft__{place}": "95" for place in (1, 2, 3)})
    walk.press("Write it down", "Choose the first design", "way to the first tally")


def _promise(walk: Walk) -> None:
    walk.open("/", "way to the client")
    walk.follow("Write down the client", "new client")
    walk.fill(name="Hester Vane")
    walk.press("Keep", "Hester Vane", "client")
    walk.open("/", "way to the commission")
    walk.follow("Write down what she asks for", "new commission")
    walk.choose("client", "Hester Vane")
    walk.fill(title="Christening of Ivy", wanted_on="2099-05-16")
    walk.press("Keep", "Christening of Ivy", "commission")


def _pick_a_design(walk: Walk) -> None:
    walk.follow("Choose the first design", "designs that are ready")
    walk.press("Take it Bib with three bands", "Bib with three bands", "design")


def _make(walk: Walk) -> None:
    walk.open("/", "way to the garment")
    walk.follow("Lay the design on the cloth", "choose a design")
    walk.choose("design", "Bib")
    walk.press("Look at it", "Cloth for the bib", "choose the cloths")
    walk.choose("cloth.bib", "Fine linen")
    walk.choose("cloth.binding", "Fine linen")
    walk.press("Look at it", "On this cloth", "planned")
    walk.fill(name="Ivy's bib")
    walk.press("Make it on this cloth", "Begin: cut the block", "garment")


def _see_a_price(walk: Walk) -> None:
    walk.open("/", "way to a price")
    walk.press("Reckon the first quote", "Quote, version 1", "quote")


def _cut_and_mark(walk: Walk) -> None:
    walk.open("/", "way to the first tally at its end")
    walk.follow("Open the first step", "step done once")
    expect(walk.page.get_by_text("This cannot be undone.")).to_be_visible()
    for done, following in (("Cut the block", "wash"), ("Wash", "press"), ("Press", "trace"), ("Trace", "mark")):
        expect(walk.page.get_by_role("heading", level=1)).to_contain_text(done)
        walk.press("It is done", f"Next: {following}", "step done")
        walk.follow(f"Next: {following}")
    _to_the_end(walk, "mark", "Edge-stitch the stop line")


def _to_the_end(walk: Walk, operation: str, following: str) -> None:
    """Count a step to the end of each of its passes at the table, and follow what comes next."""
    walk.open(f"/steps/{_step(walk, operation).id}/table", f"{operation} at the table")
    step = _step(walk, operation)
    while (before := step.done_tenths) < step.quantity_tenths:
        walk.press("To the end", following)
        for _ in range(100):
            step = _step(walk, operation)
            if step.done_tenths > before:
                break
            walk.page.wait_for_timeout(50)
        assert step.done_tenths > before, f"{operation} was not counted"
        walk.page.wait_for_timeout(A_BREATH_MS)
    walk.follow(f"^{following}", following)


def _step(walk: Walk, operation: str) -> Step:
    with walk.live.database.reading() as db:
        step = db.exec(select(Step).where(Step.operation == operation).order_by("position")).first()
        assert step is not None
        db.expunge(step)
        return step


def _be_refused_out_of_order(walk: Walk) -> None:
    walk.open(f"/steps/{_step(walk, 'clip').id}", "clip, not yet")
    expect(walk.page.get_by_text("Clip only when the edge stitching is complete").first).to_be_visible()
    walk.page.get_by_text("Count it all the same").click()
    walk.fill(counted="1")
    walk.press("Count it", "There is a problem", "refused clip")
    expect(walk.page.locator("#e-overrule")).to_contain_text("Write why you pass over the order of work.")
    expect(walk.page.locator("#f-counted")).to_have_value("1")
    assert _step(walk, "clip").done_tenths == 0
    walk.follow("First: edge-stitch the stop line")


def _go_on_to_the_knots(walk: Walk) -> None:
    for operation, following in (("edge_stitch", "Clip"), ("clip", "Withdraw"), ("withdraw", "Knot the edges")):
        _to_the_end(walk, operation, following)
    walk.follow("The whole of this step")


def _count_down(walk: Walk) -> None:
    knots = _step(walk, "ladder_knot").quantity_tenths // 10
    walk.press("Count 10", f"{knots - 10} knots left", "knots counted")
    walk.fill(counted="7", minutes="3")
    walk.press("Count it", f"{knots - 17} knots left")
    walk.watch.touch("knots")
    walk.press("Take back 7 knots", f"{knots - 10} knots left", "taken back")
    walk.fill(counted=str(knots))
    walk.press("Count it", "Did the cloth have more threads?", "more than planned")
    assert _step(walk, "ladder_knot").done_tenths == 100
    walk.open(f"/steps/{_step(walk, 'ladder_knot').id}", "knot the edges")
    walk.press("Count 5", f"{knots - 15} knots left")


def _see_where_it_stands(walk: Walk) -> None:
    with walk.live.database.reading() as db:
        garment = db.exec(select(Garment)).one()
        assert (garment.name, garment.state) == ("Ivy's bib", "in work")
    walk.open("/", "work table")
    row = walk.page.get_by_role("row").filter(has_text="Ivy's bib")
    expect(row).to_contain_text("% done")
    expect(row).to_contain_text("on the shelf")
    expect(row.get_by_role("link", name="knot the edges")).to_be_visible()
    walk.follow("Ivy's bib", "half-done garment")
    expect(walk.page.locator("main")).to_contain_text("15 of")
