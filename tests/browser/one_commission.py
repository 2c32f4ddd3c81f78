"""One commission walked through the demo studio's own pages, from the first talk to the delivery.

The guide's pictures are taken on this walk, and a test walks it without taking any.
"""

from collections.abc import Callable
from contextlib import ExitStack, closing
from dataclasses import dataclass
from datetime import date, timedelta

from playwright.sync_api import Browser, BrowserContext, Page, ViewportSize, expect
from sqlmodel import col, select

from service.records.tables import Step
from service.studio.demo import DEMO_EMAILS
from tests.serving import Live

PHONE: ViewportSize = {"width": 390, "height": 700}
PASSWORD = "linen and patience"
TITLE = "Naming day of Juniper"
BIB = "Juniper's bib"
CLOTH = "Oat linen"
# What every walk passes, in order: the name of its picture.
STAGES = (
    *("talk", "cloth", "design", "lay", "answer", "price", "window"),
    *("fit", "diary", "refused", "table", "handover", "finish", "learn"),
)
SEEN_TO = {"measured": "Neck 24 cm round, as drawn up", "photos": "With the studio's camera, not in this book"}
Take = Callable[[str, Page, str], None]


@dataclass
class Walk:
    """One commission on its way: who walks, where, and what is done at each stage."""

    live: Live
    browser: Browser
    open_until: ExitStack
    take: Take
    today: date
    page: Page
    commission: str = ""
    garment: str = ""

    def go(self, path: str) -> None:
        """Open a page."""
        self.page.goto(self.live.url + path)

    def fill(self, **typed: str) -> None:
        """Fill in fields by their names, a double underline standing for a hyphen, and keep the form."""
        for field, value in typed.items():
            self.page.locator(f"#f-{field.replace('__', '-')}").fill(value)

    def choose(self, field: str, words: str) -> None:
        """Choose by what the list says."""
        box = self.page.locator(f'[name="{field}"]')
        value = box.locator("option").filter(has_text=words).first.get_attribute("value")
        box.select_option(value)

    def press(self, words: str, then: str) -> None:
        """Press a button, and wait for the words that follow."""
        self.page.locator("main").get_by_role("button", name=words, exact=True).first.click()
        expect(self.page.locator("main").get_by_text(then).first).to_be_visible()

    def show(self, stage: str, at: str = "h1", page: Page | None = None) -> None:
        """Stand at a stage, with that part of the page at the top."""
        self.take(stage, page or self.page, at)

    def someone(self) -> BrowserContext:
        """Somebody else's phone."""
        context = self.browser.new_context(viewport=PHONE, base_url=self.live.url, device_scale_factor=1.5)
        context.set_default_timeout(20_000)
        return self.open_until.enter_context(closing(context))

    def steps(self) -> list[Step]:
        """The steps of the garment, in their order."""
        with self.live.database.reading() as db:
            found = select(Step).where(Step.garment_id == int(self.garment)).order_by(col(Step.position))
            rows = list(db.exec(found).all())
            db.expunge_all()
            return rows


def walk(live: Live, browser: Browser, today: date, take: Take) -> None:
    """Walk one commission through every stage; `take` is called at each with its name, the page and what is looked at."""
    with ExitStack() as open_until:
        context = browser.new_context(viewport=PHONE, base_url=live.url, device_scale_factor=1.5)
        open_until.enter_context(closing(context))
        context.set_default_timeout(20_000)
        on = Walk(live, browser, open_until, take, today, context.new_page())
        sign_in(on.page, "edda")
        for stage in (talk, measure, choose, lay, quote, be_accepted, foresee, begin, hand_over, finish, deliver):
            stage(on)


def sign_in(page: Page, name: str) -> None:
    """Sign in at the door."""
    page.goto("/login")
    page.locator("#f-email").fill(DEMO_EMAILS[name])
    page.locator("#f-password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Work table")


def talk(on: Walk) -> None:
    """Write down who asks, for which day and for which child."""
    on.go("/clients/new")
    on.fill(name="Rosamund Hale", email="rosamund.hale@demo.example")
    on.press("Keep", "Rosamund Hale")
    on.go("/commissions/new")
    on.choose("client", "Rosamund Hale")
    on.fill(title=TITLE, occasion="Naming day", wanted_on=str(on.today + timedelta(days=75)))
    on.page.locator('[name="child_sex"][value="girl"]').check()
    on.fill(child_born=str(on.today - timedelta(days=60)))
    on.press("Keep", TITLE)
    on.commission = on.page.url.rpartition("/")[2]
    on.show("talk")


def measure(on: Walk) -> None:
    """Write a cloth down, count its threads, wash a swatch, and count the washed cloth."""
    on.go("/cloth/new")
    on.fill(name=CLOTH, fibre="linen", width="140", on_hand="3", weight="150", price="24.00")
    on.press("Keep, and count its threads", "Counted over")
    cloth = on.page.url.rpartition("/cloth/")[2].partition("/")[0]
    _count(on, (121, 120, 121, 120, 121), (116, 116, 115, 116, 116))
    on.go(f"/cloth/{cloth}/swatch")
    for place, after in enumerate(("48.2", "48.1", "48.3"), 1):
        on.fill(**{f"warp__{place}__before": "50", f"warp__{place}__after": after})
        on.fill(**{f"weft__{place}__before": "50", f"weft__{place}__after": "49"})
    on.fill(washed="40 °C, dried flat")
    on.press("Keep what it shrank", "A swatch washed on")
    on.go(f"/cloth/{cloth}/count?again=true")
    on.fill(reason="The cloth was washed.")
    _count(on, (125, 125, 126, 125, 126), (118, 118, 119, 118, 119))
    on.show("cloth")


def _count(on: Walk, warp: tuple[int, ...], weft: tuple[int, ...]) -> None:
    on.fill(over="5 cm")
    for place, (along, across) in enumerate(zip(warp, weft, strict=True), 1):
        on.fill(**{f"warp__{place}": str(along), f"weft__{place}": str(across)})
    on.page.locator("main form.sheet button[type=submit]").first.click()
    expect(on.page.get_by_role("heading", level=1)).to_have_text(CLOTH)


def choose(on: Walk) -> None:
    """Read the design that is to be made."""
    on.go("/designs")
    on.page.locator("main").get_by_role("link", name="Bib with three bands").first.click()
    expect(on.page.get_by_role("heading", level=1)).to_contain_text("Bib with three bands")
    on.show("design")
    on.page.goto(f"{on.page.url}/sections/bib.upper")
    on.page.locator("#f-left_over").select_option("")
    on.page.locator("main form button:not(.second)").first.click()
    expect(on.page.get_by_role("heading", level=1)).to_contain_text("Bib with three bands")


def lay(on: Walk) -> None:
    """Lay the design on the cloth, answer what waits, and make it."""
    on.go(f"/commissions/{on.commission}/make")
    on.choose("design", "Bib with three bands")
    on.page.get_by_role("button", name="Look at it", exact=True).click()
    on.choose("cloth.bib", CLOTH)
    on.choose("cloth.binding", CLOTH)
    on.page.get_by_role("button", name="Look at it", exact=True).click()
    expect(on.page.get_by_role("heading", name="On this cloth")).to_be_visible()
    waits = on.page.locator(".piece-made.waits")
    expect(waits).to_have_count(1)
    on.show("lay", ".piece-made.waits")
    on.choose("left.bib.upper", "spread them")
    expect(waits).to_have_count(0)
    on.page.get_by_role("button", name="Look at it again").click()
    expect(on.page.locator("#said")).to_have_text("")
    on.show("answer", ".altogether")
    on.fill(name=BIB)
    on.press("Make it on this cloth", "What is left")
    on.garment = on.page.url.rpartition("/")[2].partition("?")[0]


def _guess_minutes(step: Step) -> float:
    return max(0.5, round(step.unit_ms * step.quantity_tenths / 600_000 * 0.95, 1))


def _do(on: Walk, step: Step, who: Page, share: float = 1) -> None:
    """Count a step, or a share of it, in somebody's name by the way that scripts take."""
    counted = max(1, round(step.quantity_tenths * share / 10)) if share < 1 else step.quantity_tenths / 10
    left = counted if share < 1 else (step.quantity_tenths - step.done_tenths) / 10
    if left <= 0:
        return
    said = {"key": f"walk {step.id} {share}", "counted": left, "minutes": round(_guess_minutes(step) * share, 1) or 0.5}
    answer = who.request.post(f"/api/steps/{step.id}/tallies", data=said, headers={"Origin": on.live.url})
    assert answer.ok, answer.text()


def quote(on: Walk) -> None:
    """Reckon the hours and a price, and seal what is sent."""
    on.go(f"/commissions/{on.commission}")
    on.press("Draw up a quote", "Quote, version 1")
    on.show("price")
    on.press("It is sent: seal it", "Priced at nothing")
    on.page.get_by_label("What is priced at nothing costs nothing more").check()
    on.press("It is sent: seal it", "and sealed")


def be_accepted(on: Walk) -> None:
    """The client opens her window on her own phone, reads the quote and accepts it."""
    on.go(f"/commissions/{on.commission}/window")
    on.page.locator('[name="kind"][value="quote"]').check()
    on.fill(label="Rosamund", days="60")
    on.press("Draft the message", "A message to")
    link = on.page.locator("#f-link").input_value()
    hers = on.someone().new_page()
    hers.goto(link)
    hers.get_by_role("button", name="Open it").click()
    hers.get_by_role("link", name="Read it and accept it").click()
    hers.locator("#f-name").fill("Rosamund Hale")
    hers.locator("#f-read").check()
    on.show("window", "h2:has-text('Accept it')", hers)
    hers.get_by_role("button", name="Accept £").click()
    expect(hers.get_by_role("link", name="A receipt of it")).to_be_visible()


def foresee(on: Walk) -> None:
    """Look at the child's size on the day, and at the days foreseen."""
    on.go(f"/commissions/{on.commission}/fit")
    on.show("fit")
    on.go("/diary")
    on.show("diary", f'section.road:has-text("{BIB}")')


def begin(on: Walk) -> None:
    """Begin the work; a clip before its stop line is refused; the knots are counted at the table."""
    steps = on.steps()
    clip = next(at for at, step in enumerate(steps) if step.operation == "clip")
    for step in steps[: clip - 1]:
        _do(on, step, on.page)
    on.go(f"/steps/{steps[clip].id}")
    on.show("refused")
    for step in steps[clip - 1 :]:
        if step.operation == "ladder_knot":
            break
        _do(on, step, on.page)
    _do(on, step, on.page, share=0.4)
    on.go(f"/steps/{step.id}/table")
    expect(on.page.locator(".band svg")).to_be_visible()
    on.show("table")


def hand_over(on: Walk) -> None:
    """Offer the half-done piece to the second stitcher, who counts the needles in and takes it."""
    on.go(f"/garments/{on.garment}/give")
    on.page.locator("#f-panels").check()
    on.choose("to", "Tilly Fenn")
    on.fill(needles_out="2", pins_out="6", tension="firm, and the cloth lies flat")
    on.press("Offer it", "to Tilly Fenn")
    hers = on.someone().new_page()
    sign_in(hers, "tilly")
    hers.goto(on.page.url)
    hers.get_by_label("Needles", exact=False).fill("2")
    hers.get_by_label("Pins", exact=False).fill("6")
    hers.get_by_role("button", name="I have counted: I take it").click()
    expect(hers.locator(".state").first).to_contain_text("taken")
    on.show("handover", page=hers)
    for step in on.steps():
        _do(on, step, hers)
    hers.goto(f"{on.live.url}/garments/{on.garment}/sharps")
    hers.get_by_label("Needles", exact=False).first.fill("2")
    hers.get_by_label("Pins", exact=False).first.fill("6")
    hers.get_by_role("button", name="Count in").click()
    expect(hers.locator("#out")).to_have_count(0)


def finish(on: Walk) -> None:
    """See to the list at the end, and say that it is finished."""
    on.go(f"/garments/{on.garment}/finishing")
    buttons = on.page.locator("main form.in-line button:has-text('Seen to')")
    whole = buttons.count()
    for left in range(whole, 0, -1):
        if left == whole // 2:
            on.show("finish")
        for what, words in SEEN_TO.items():
            if (note := on.page.locator(f"#f-note-{what}")).count():
                note.fill(words)
        buttons.first.click()
        expect(buttons).to_have_count(left - 1)
    on.press("It is finished", "It is delivered")


def deliver(on: Walk) -> None:
    """Write the delivery down, and read what was quoted beside what it took."""
    on.fill(day=str(on.today), by="Edda Marrow")
    on.page.get_by_role("button", name="It is delivered").click()
    expect(on.page.locator(".state").first).to_contain_text("delivered")
    on.go(f"/commissions/{on.commission}")
    on.show("learn", "h2:has-text('As quoted')")
