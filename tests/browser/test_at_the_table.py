"""The hand at the table: two fingers on the band, the clock that asks, rest, the screen, and the last ten undone."""

import re
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from playwright.sync_api import Browser, BrowserContext, CDPSession, Page, expect

from service.records.tables import Studio
from service.studio.log import TallyAsk, add_tally
from tests.browser.at_table import AFTER_A_TAP, Gown, at_the_table, done, phone, rows, until_sent
from tests.counting import person
from tests.serving import OWNER, Live

MINUTE = 60_000
NOON = 12
# Notes what the page asks of the browser, and lets it be done.
HEAR_LOCKS = """globalThis.held = [];
const ask = navigator.wakeLock.request.bind(navigator.wakeLock);
navigator.wakeLock.request = async kind => { const lock = await ask(kind); held.push(lock); return lock; };"""
# Adds up how far things moved by themselves, in the browser's own measure: 1 is the whole screen.
HEAR_MOVES = """globalThis.moved = 0;
new PerformanceObserver(list => list.getEntries().forEach(each => { if (!each.hadRecentInput) moved += each.value; }))
    .observe({ type: "layout-shift", buffered: true });"""
MOST_MOVED = 0.02
HELD = "held.filter(({ released, type }) => !released && type === 'screen').length"


def _two_fingers(hand: CDPSession, page: Page, apart: list[int]) -> None:
    """Two fingers put on the band and drawn to these distances from one another."""
    box = page.locator(".band").bounding_box()
    assert box is not None
    middle, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    for kind, each in zip(["touchStart", *["touchMove"] * (len(apart) - 1)], apart, strict=True):
        points = [{"x": middle + side * each / 2, "y": y, "id": at} for at, side in enumerate((-1, 1))]
        hand.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    hand.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})


def test_two_fingers_make_the_band_wider_and_closer_and_count_nothing(
    browser: Browser, gown: Gown, live_gown: Live
) -> None:
    with phone(browser, live_gown, service_workers="block") as context:
        page = at_the_table(context, gown)
        hand = context.new_cdp_session(page)
        expect(page.locator("#zoom")).to_have_text("Wider: tens")
        _two_fingers(hand, page, [200, 150, 90])
        expect(page.locator("#zoom")).to_have_text("Closer: one by one")
        expect(page.locator("[data-number='50']")).to_have_count(1)
        _two_fingers(hand, page, [90, 130, 200])
        expect(page.locator("#zoom")).to_have_text("Wider: tens")
        expect(page.locator("#left")).to_contain_text("167 bundles left")
        page.wait_for_timeout(AFTER_A_TAP)  # fingers that were two a moment ago do not tap
        page.tap("[data-number='3']")
        expect(page.locator("#left")).to_contain_text("164 bundles left")
        until_sent(page)
        assert done(live_gown, gown.knots) == 3


@pytest.mark.parametrize("apart_ms", [0, 120, 300])
def test_the_second_of_a_double_tap_counts_nothing_and_a_later_tap_counts(
    browser: Browser, gown: Gown, live_gown: Live, apart_ms: int
) -> None:
    with phone(browser, live_gown, service_workers="block") as context:
        page = _standing_still(context, gown)
        box = page.locator("[data-number='5']").bounding_box()
        assert box is not None
        finger = (box["x"] + box["width"] / 2, box["y"] + 40)
        page.touchscreen.tap(*finger)
        expect(page.locator("#told")).to_have_text("Counted: 5 bundles, to 5.")
        page.clock.run_for(apart_ms)
        page.touchscreen.tap(*finger)
        page.clock.fast_forward(AFTER_A_TAP)
        expect(page.locator("#left")).to_contain_text("162 bundles left")
        page.touchscreen.tap(*finger)
        expect(page.locator("#told")).to_have_text("Counted: 4 bundles, to 9.")
        page.clock.resume()
        until_sent(page)
        assert done(live_gown, gown.knots) == 9


def test_a_double_tap_on_a_button_counts_and_takes_back_once(browser: Browser, gown: Gown, live_gown: Live) -> None:
    with phone(browser, live_gown, service_workers="block") as context:
        page = _standing_still(context, gown)
        for button, stands in (("#to-ten", "10 of"), ("#to-ten", "20 of"), ("#undo-last", "10 of")):
            for _ in range(2):
                page.tap(button)
                expect(page.locator("#left")).to_contain_text(stands)
            page.clock.fast_forward(AFTER_A_TAP)
        page.clock.resume()
        until_sent(page)
        assert done(live_gown, gown.knots) == 10


def _meanwhile(live: Live, gown: Gown, counted: int, kind: str = "work") -> None:
    """The owner counts on the same step from elsewhere."""
    with live.database.writing() as db:
        ask = TallyAsk(f"{kind} {counted}", Decimal(counted), kind, reason="a knot slipped")
        add_tally(db, person(db, OWNER), gown.knots, ask, datetime.now(UTC))


def _type_to(page: Page, number: int) -> None:
    page.fill("#f-reached", str(number))
    page.tap("#count-it")
    expect(page.locator("#told")).to_contain_text(f", to {number}.")


def test_a_place_that_was_typed_is_asked_for_when_somebody_else_counted_meanwhile(
    browser: Browser, gown: Gown, live_gown: Live
) -> None:
    with phone(browser, live_gown, service_workers="block") as context:
        page = at_the_table(context, gown)
        asked = page.locator("#elsewhere")
        _type_to(page, 20)
        until_sent(page)
        expect(asked).to_be_hidden()
        _meanwhile(live_gown, gown, 5)
        _type_to(page, 30)
        expect(asked).to_contain_text("Counted elsewhere meanwhile: 5 bundles. Your count to 30 came on top.")
        expect(asked.locator("button")).to_have_text(["At 30", "At 35, as it stands now"])
        page.tap("#at-what-was-said")
        expect(page.locator("#told")).to_have_text("This stands at 30.")
        until_sent(page)
        expect(asked).to_be_hidden()
        assert done(live_gown, gown.knots) == 30
        _meanwhile(live_gown, gown, 5, "unpick")
        _type_to(page, 40)
        expect(asked).to_contain_text("Taken back elsewhere meanwhile: 5 bundles.")
        page.tap("#at-what-was-said")
        expect(page.locator("#told")).to_have_text("This stands at 40.")
        until_sent(page)
        assert done(live_gown, gown.knots) == 40
        _meanwhile(live_gown, gown, 2)
        _type_to(page, 50)
        page.tap("#as-it-stands")
        expect(asked).to_be_hidden()
        until_sent(page)
        assert done(live_gown, gown.knots) == 52


def test_places_typed_away_from_the_network_are_asked_for_once_when_they_come_in(
    browser: Browser, gown: Gown, live_gown: Live
) -> None:
    with phone(browser, live_gown, service_workers="block") as context:
        page = at_the_table(context, gown)
        context.set_offline(True)
        for number in (4, 9, 11):
            _type_to(page, number)
        _meanwhile(live_gown, gown, 3)
        context.set_offline(False)
        expect(page.locator("#elsewhere")).to_contain_text("elsewhere meanwhile: 3 bundles. Your count to 11")
        page.reload()
        expect(page.locator("#elsewhere")).to_contain_text("Your count to 11 came on top.")
        page.tap("#at-what-was-said")
        expect(page.locator("#told")).to_have_text("This stands at 11.")
        until_sent(page)
        assert done(live_gown, gown.knots) == 11
        kept = sorted((kind, counted) for _, kind, counted, _ in rows(live_gown, gown.knots))
        assert kept == [
            ("counter", 20),
            ("counter", 50),
            ("work", 20),
            ("work", 30),
            ("work", 40),
            ("work", 40),
            ("work", 50),
        ]


def test_what_cannot_be_is_said_at_its_field_before_anything_is_kept_and_what_was_typed_stays(
    browser: Browser, gown: Gown, live_gown: Live
) -> None:
    with phone(browser, live_gown, service_workers="block") as context:
        page = at_the_table(context, gown)
        minutes, reached = page.locator("#f-minutes"), page.locator("#f-reached")
        reached.fill("12")
        for typed in ("9999999", "soon", "-1"):
            minutes.fill(typed)
            for tapped in ("[data-number='3']", "#to-ten", "#count-it"):
                page.tap(tapped)
                expect(page.locator("#e-minutes")).to_have_text("Minutes run from 0 to 14400.")
            expect(minutes).to_be_focused()
            expect(minutes).to_have_attribute("aria-describedby", "e-minutes")
            assert (minutes.input_value(), reached.input_value()) == (typed, "12")
        assert page.evaluate("async () => (await Stopline.waiting.all()).length") == 0
        minutes.fill("4")
        page.tap("#count-it")
        expect(page.locator("#told")).to_contain_text("Counted: 12 bundles, to 12.")
        expect(page.locator(".error")).to_have_count(0)
        expect(minutes).to_have_value("")
        for typed, sentence in (
            ("", "Enter the bundle you reached as a number."),
            ("2", "2 is done already: 12 are. Take a wrong count back below."),
            ("999", "This ends at 167."),
        ):
            reached.fill(typed)
            page.tap("#count-it")
            expect(page.locator("#e-reached")).to_have_text(sentence)
            assert reached.input_value() == typed
        until_sent(page)
        assert rows(live_gown, gown.knots)[0][1:] == ("work", 120, 240)


def test_needles_left_empty_are_asked_for_at_their_own_fields(browser: Browser, gown: Gown, live_gown: Live) -> None:
    with phone(browser, live_gown, service_workers="block") as context:
        page = at_the_table(context, gown)
        page.tap("#needles button[value=out]")
        expect(page.locator("#e-needles")).to_have_text("Enter how many needles, from 0 to 1000.")
        expect(page.locator("#e-pins")).to_have_text("Enter how many pins, from 0 to 1000.")
        expect(page.locator("#f-needles")).to_be_focused()
        page.fill("#f-needles", "2")
        page.tap("#needles button[value=out]")
        expect(page.locator("#e-needles")).to_have_count(0)
        expect(page.locator("#f-pins")).to_be_focused()
        assert page.evaluate("async () => (await Stopline.waiting.all()).length") == 0


def _standing_still(context: BrowserContext, gown: Gown) -> Page:
    """The page with a clock that goes on only when it is told to."""
    context.clock.install()
    page = at_the_table(context, gown)
    page.clock.pause_at(datetime.now(UTC) + timedelta(minutes=1))
    return page


def test_the_band_takes_the_place_of_the_drawing_and_nothing_below_moves(
    browser: Browser, gown: Gown, live_gown: Live
) -> None:
    with phone(browser, live_gown, service_workers="block") as context:
        context.add_init_script(HEAR_MOVES)
        page = at_the_table(context, gown)
        expect(page.locator(".band [data-number='1']")).to_have_count(1)
        expect(page.locator("#zoom")).to_be_visible()
        assert page.evaluate("moved") <= MOST_MOVED


def test_each_of_the_last_ten_counts_is_undone_and_no_more(browser: Browser, gown: Gown, live_gown: Live) -> None:
    with phone(browser, live_gown, service_workers="block") as context:
        context.clock.install()
        page = at_the_table(context, gown)
        for number in range(1, 12):
            page.tap(f"[data-number='{number}']")
            expect(page.locator("#told")).to_have_text(f"Counted: 1 bundle, to {number}.")
            page.clock.fast_forward(AFTER_A_TAP)
        expect(page.locator("#undo button")).to_have_count(10)
        for number in range(11, 1, -1):
            page.tap("#undo-last")
            expect(page.locator("#left")).to_contain_text(f"{number - 1} of")
            page.clock.fast_forward(AFTER_A_TAP)
        expect(page.locator("#undo-last")).to_have_count(1)  # the eleventh is the last of ten now
        until_sent(page)
        assert done(live_gown, gown.knots) == 1


def test_more_than_the_minutes_of_the_clock_can_hold_is_counted_and_its_time_left_open(
    browser: Browser, gown: Gown, live_gown: Live
) -> None:
    with phone(browser, live_gown, service_workers="block") as context:
        page = context.new_page()
        page.clock.install()
        page.goto(f"/steps/{gown.knots}/table")
        expect(page.locator(".band")).to_be_visible()
        told = page.locator("#told")
        page.tap("#to-ten")
        expect(told).to_have_text("Counted: 10 bundles, to 10.")
        _count_after(page, 4)
        expect(told).to_have_text("Counted: 10 bundles, to 20.")
        page.tap("#to-end")
        expect(told).to_contain_text("Counted: 147 bundles, to 167. That is too many for the minutes of the clock")
        page.clock.fast_forward(AFTER_A_TAP)
        page.fill("#f-minutes", "70")
        page.tap("#to-end")
        expect(told).to_have_text("Counted: 167 bundles, to 167.")
        until_sent(page)
        kept = {counted: seconds for _, _, counted, seconds in rows(live_gown, gown.knots) if counted > 100}
        assert kept == {1470: None, 1670: 4200}
        assert done(live_gown, gown.knots) == 334


def test_a_few_tapped_in_after_the_work_have_no_time_of_their_own_where_the_count_before_them_has_none(
    browser: Browser, gown: Gown, live_gown: Live
) -> None:
    with phone(browser, live_gown, service_workers="block") as context:
        context.clock.install()
        page = at_the_table(context, gown)
        told = page.locator("#told")
        for number in (1, 2, 3):  # the first of the sitting, and two at once behind it
            page.tap(f"[data-number='{number}']")
            expect(told).to_have_text(f"Counted: 1 bundle, to {number}.")
            page.clock.fast_forward(AFTER_A_TAP)
        page.clock.fast_forward(3 * MINUTE)
        for number in (4, 5):  # three minutes' work, told in two taps
            page.tap(f"[data-number='{number}']")
            expect(told).to_have_text(f"Counted: 1 bundle, to {number}.")
            page.clock.fast_forward(AFTER_A_TAP)
        until_sent(page)
        *few, all_of_it = sorted(seconds or 0 for _, _, _, seconds in rows(live_gown, gown.knots))
        assert few == [0, 0, 0, 6]
        assert all_of_it >= 180


def _count_after(page: Page, minutes: float) -> None:
    """So much later: when the clock has said so, and nothing stands elsewhere for it any more, ten are counted."""
    page.clock.fast_forward(int(minutes * MINUTE))
    expect(page.locator(".clock-face")).to_have_text(re.compile(r"^(?!0 min)"))
    left = page.locator("#left")
    before = left.inner_text()
    page.tap("#to-ten")
    expect(left).not_to_have_text(before)


def test_the_clock_stops_asks_and_tells_to_look_up_while_the_screen_stays_awake(
    browser: Browser, gown: Gown, live_gown: Live
) -> None:
    morning = "Etc/GMT+12" if datetime.now(UTC).hour >= NOON else "UTC"  # two hours of it lie on one day
    with phone(browser, live_gown, service_workers="block", timezone_id=morning) as context:
        context.add_init_script(HEAR_LOCKS)
        page = context.new_page()
        page.clock.install()
        page.goto(f"/steps/{gown.knots}/table")
        face = page.locator(".clock-face")
        page.tap("#to-ten")
        expect(face).to_contain_text("since the last count")
        assert page.evaluate(HELD) == 1
        page.clock.fast_forward(16 * MINUTE)
        expect(face).to_contain_text("Were you sewing all that while?")
        expect(page.locator("#clock button")).to_have_text(["I was sewing", "I was not", "End this sitting"])
        assert page.evaluate(HELD) == 0
        page.tap("#did-not")
        _count_after(page, 5)
        page.tap("#pause")
        expect(face).to_contain_text("The clock stands at")
        page.clock.fast_forward(40 * MINUTE)
        page.tap("#go-on")
        for _ in range(4):
            _count_after(page, 13)
        expect(face).to_have_attribute("role", "status")
        expect(face).to_contain_text("52 min at it: look up, stand, open your hands.")
        assert page.evaluate(HELD) == 1
        page.tap("#rested")
        expect(face).to_contain_text("0 min since the last count")
        until_sent(page)
        minutes = sorted(seconds // 60 for *_, seconds in rows(live_gown, gown.knots) if seconds is not None)
        assert minutes == [5, 13, 13, 13, 13]
        expect(page.locator("#needle-time")).to_contain_text("57 min")


def test_in_german_the_script_says_its_line_whole_and_with_a_comma(
    browser: Browser, gown: Gown, live_gown: Live
) -> None:
    with live_gown.database.writing() as db:
        studio = db.get_one(Studio, 1)
        studio.language, studio.numbers = "de", "de_DE"
        db.add(studio)
    with phone(browser, live_gown, service_workers="block") as context:
        page = at_the_table(context, gown)
        expect(page.locator("#left")).to_have_text(
            re.compile(r"^167 Stäbchen übrig von diesem Gang \(Erster Rand\)\. ")
        )
        page.tap("[data-number='3']")
        expect(page.locator("#left")).to_contain_text("164 Stäbchen übrig")
        page.goto(f"/steps/{gown.mark}/table")
        page.fill("#f-reached", "1,5")
        page.press("#f-reached", "Enter")
        expect(page.locator("#told")).to_have_text("Gezählt: 1,5 cm, bis 1,5.")
        expect(page.locator("#left")).to_have_text(
            re.compile(r"^[\d,]+ cm übrig\. 1,5 von [\d,]+ gearbeitet, .* übrig$")
        )
        until_sent(page)
