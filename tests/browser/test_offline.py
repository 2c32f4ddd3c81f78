"""Counting away from the network, in a real browser: kept on the device, sent when it can be, each count once."""

import itertools
import os
import shutil
import socket
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import httpx2
from playwright.sync_api import Browser, Page, Route, expect
from sqlmodel import col, select

from service.records.db import open_database
from service.records.tables import Tally
from tests.browser.at_table import AFTER_A_TAP, PHONE, PUT, Gown, at_the_table, done, phone, rows, sign_in, until_sent
from tests.browser.six_orders import ORDERS, ends_of, in_turn, made
from tests.serving import OWNER, SECOND, START, Live, serving

COUNTS, TAKEN_BACK = 108, 12  # more by command: see six_orders
RIGHT_AFTER_MS = 5_000  # long before the fifteen seconds after which all that waits is looked for
FATAL = 3  # of the five lots that they go in, the one with which the server is killed


def test_many_counts_in_six_orders_come_to_one_end(browser: Browser, gown: Gown, tmp_path: Path) -> None:
    ends = ends_of(browser, gown, tmp_path, COUNTS, TAKEN_BACK)
    assert ends[0][0] == (COUNTS - TAKEN_BACK) / 10
    assert len(ends[0][1]) == COUNTS + TAKEN_BACK
    assert ends[1:] == ends[:1] * (len(ORDERS) - 1)


class Taps:
    """A thumb on the page, and how often it tapped."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.made = 0

    def on(self, selector: str) -> None:
        self.page.locator(selector).tap()
        self.made += 1


def _kept_for_the_road(page: Page) -> None:
    """Wait until the step in hand is kept on the device."""
    for _ in range(100):
        if page.evaluate("async () => Boolean(await caches.match(location.pathname))"):
            return
        page.wait_for_timeout(50)
    raise AssertionError("the page was not kept")


def test_a_hundred_bundles_through_two_cuts_take_ten_taps_and_the_place_is_exact(
    browser: Browser, gown: Gown, live_gown: Live
) -> None:
    with phone(browser, live_gown) as context:
        page = at_the_table(context, gown)
        _kept_for_the_road(page)
        taps, left = Taps(page), page.locator("#left")
        taps.on("#to-ten")
        expect(left).to_contain_text("157 bundles left")
        until_sent(page)
        context.set_offline(True)
        taps.on("#to-needleful")
        expect(left).not_to_contain_text("157 bundles left")
        taps.on("#zoom")
        page.wait_for_timeout(AFTER_A_TAP)
        taps.on("[data-number='80']")
        expect(left).to_contain_text("87 bundles left")
        expect(page.locator("#waiting")).to_contain_text("2 counts waiting to be sent")
        page.close()
        page = context.new_page()
        page.goto(f"/steps/{gown.knots}/table")
        taps.page, left = page, page.locator("#left")
        expect(left).to_contain_text("87 bundles left")
        context.set_offline(False)
        until_sent(page)
        assert done(live_gown, gown.knots) == 80
        context.set_offline(True)
        taps.on("#to-ten")
        expect(left).to_contain_text("77 bundles left")
        page.wait_for_timeout(AFTER_A_TAP)
        taps.on("#to-ten")
        context.set_offline(False)
        until_sent(page)
        expect(left).to_contain_text("67 bundles left")
        assert taps.made <= 10
        page.close()
        page = at_the_table(context, gown)
        expect(page.locator("#left")).to_contain_text("67 bundles left")
        expect(page.locator("[data-number='101'] .d-here-text")).to_have_text("101")
        assert done(live_gown, gown.knots) == 100


SLOW_TO_TIDY = """() => {
    const tidy = Stopline.waiting.tidy;
    Stopline.waiting.tidy = () => new Promise(tidied => { window.goOn = () => tidied(tidy()); });
}"""


def test_a_network_that_comes_back_while_counts_are_tidied_away_is_tried_at_once(
    browser: Browser, gown: Gown, live_gown: Live
) -> None:
    with phone(browser, live_gown, service_workers="block") as context:
        page = at_the_table(context, gown)
        until_sent(page)
        context.set_offline(True)
        page.evaluate(SLOW_TO_TIDY)
        page.locator("#f-reached").fill("4")
        page.locator("#f-reached").press("Enter")
        expect(page.locator("#told")).to_have_text("Counted: 4 bundles, to 4.")
        context.set_offline(False)
        with page.expect_request("**/api/tallies", timeout=RIGHT_AFTER_MS):
            page.evaluate("() => window.goOn()")
        until_sent(page)
    assert done(live_gown, gown.knots) == 4


def test_what_is_added_while_the_counts_before_it_are_tidied_away_goes_right_after_them(
    browser: Browser, gown: Gown, live_gown: Live
) -> None:
    with phone(browser, live_gown, service_workers="block") as context:
        page = at_the_table(context, gown)
        until_sent(page)
        page.evaluate(SLOW_TO_TIDY)
        page.locator("#f-reached").fill("4")
        page.locator("#f-reached").press("Enter")
        until_sent(page)
        expect(page.locator("#told")).to_have_text("Counted: 4 bundles, to 4.")
        page.locator("#f-reached").fill("7")
        page.locator("#f-reached").press("Enter")
        expect(page.locator("#told")).to_have_text("Counted: 3 bundles, to 7.")
        with page.expect_request("**/api/tallies", timeout=RIGHT_AFTER_MS):
            page.evaluate("() => window.goOn()")
        until_sent(page)
    assert done(live_gown, gown.knots) == 7


def test_a_wrong_count_is_undone_with_the_net_cut_or_not(browser: Browser, gown: Gown, live_gown: Live) -> None:
    with phone(browser, live_gown, service_workers="block") as context:
        page = at_the_table(context, gown)
        page.tap("#to-ten")
        expect(page.locator("#undo-last")).to_have_text("Take back: 10 bundles")
        until_sent(page)
        context.set_offline(True)
        page.fill("#f-reached", "14")
        page.tap("#count-it")
        page.tap("#undo-last")
        expect(page.locator("#left")).to_contain_text("157 bundles left")
        page.wait_for_timeout(AFTER_A_TAP)
        page.tap("#undo-last")
        expect(page.locator("#left")).to_contain_text("167 bundles left")
        expect(page.locator("#undo-last")).to_have_count(0)
        context.set_offline(False)
        until_sent(page)
        assert sorted((kind, counted) for _, kind, counted, _ in rows(live_gown, gown.knots)) == [
            ("counter", 100),
            ("work", 100),
        ]


def test_the_clock_begins_with_the_first_count_and_asks_when_nothing_was_counted_for_a_while(
    browser: Browser, gown: Gown, live_gown: Live
) -> None:
    with phone(browser, live_gown, service_workers="block") as context:
        page = context.new_page()
        page.clock.install()
        page.goto(f"/steps/{gown.knots}/table")
        page.tap("#to-ten")
        expect(page.locator("#sharps")).to_be_visible()
        page.clock.fast_forward(6 * 60_000)
        expect(page.locator(".clock-face")).to_contain_text("6 min since the last count")
        page.tap("#to-ten")
        page.clock.fast_forward(20 * 60_000)
        expect(page.locator(".clock-face")).to_contain_text("so the clock stands")
        page.tap("#to-ten")
        expect(page.locator("#asks")).to_contain_text("10 bundles counted after 20 minutes")
        expect(page.locator("#waiting")).to_contain_text("1 count waiting")
        page.fill("#sewn", "12")
        page.tap("#so-many")
        until_sent(page)
        with live_gown.database.reading() as db:
            kept = db.exec(select(Tally.seconds).where(Tally.step_id == gown.knots).order_by(col(Tally.id))).all()
        assert (kept[0], kept[2]) == (None, 720)
        assert 360 <= (kept[1] or 0) <= 420


def test_counts_of_one_person_are_kept_at_signing_out_and_never_sent_by_another(
    browser: Browser, gown: Gown, live_gown: Live
) -> None:
    with phone(browser, live_gown) as context:
        page = at_the_table(context, gown)
        context.route("**/api/tallies", lambda route: route.abort())
        page.tap("#to-ten")
        expect(page.locator("#waiting")).to_contain_text("1 count waiting to be sent")
        page.tap(".ways summary")
        page.tap(".sign-out button")
        expect(page.locator(".sign-out ~ *, .ways [role=alert]").first).to_contain_text("not sent yet")
        page.tap(".sign-out button")
        page.wait_for_url("**/login")
        assert (
            page.evaluate("async () => (await caches.keys()).filter(name => name.startsWith('stopline pages'))") == []
        )
        context.unroute("**/api/tallies")
        sign_in(context, live_gown.database, live_gown.url, SECOND)
        page.goto("/")
        expect(page.locator("#waiting")).to_be_hidden()
        page.evaluate("Stopline.sending.replay()")
        assert done(live_gown, gown.knots) == 0
        sign_in(context, live_gown.database, live_gown.url)
        page.goto("/waiting")
        expect(page.locator("#waiting")).to_be_hidden()
        for _ in range(40):
            if done(live_gown, gown.knots) == 10:
                break
            page.wait_for_timeout(50)
        assert done(live_gown, gown.knots) == 10


def test_a_refused_count_is_kept_and_shown_to_be_moved_or_removed(
    browser: Browser, gown: Gown, live_gown: Live
) -> None:
    with phone(browser, live_gown, service_workers="block") as context:
        page = context.new_page()
        page.goto("/waiting")
        lost = {"account": gown.account, "kind": "work", "counted": 5, "at": START.isoformat(), "state": "waiting"}
        gone = [{**lost, "key": "gone", "step": 999_999}, {**lost, "key": "other", "step": 999_998}]
        page.evaluate(PUT, in_turn(gone))
        page.goto(f"/steps/{gown.knots}/table")
        expect(page.locator("#waiting")).to_contain_text("2 counts not taken")
        expect(page.locator("#refused li").first).to_contain_text("There is no such step.")
        page.tap("#remove-other")
        page.tap("#move-gone")
        until_sent(page)
        expect(page.locator("#left")).to_contain_text("162 bundles left")
        assert done(live_gown, gown.knots) == 5


def test_a_server_killed_while_counts_go_in_loses_and_doubles_none(
    browser: Browser, gown: Gown, tmp_path: Path
) -> None:
    folder = tmp_path / "killed"
    folder.mkdir()
    shutil.copyfile(gown.file, folder / "studio.sqlite")
    with closing(socket.create_server(("127.0.0.1", 0))) as free:
        port = free.getsockname()[1]
    url = f"http://127.0.0.1:{port}"
    database = open_database(f"sqlite:///{folder / 'studio.sqlite'}")
    entries = made(gown, COUNTS, TAKEN_BACK)[:COUNTS]
    with closing(browser.new_context(viewport=PHONE, base_url=url, service_workers="block")) as context:
        sign_in(context, database, url, OWNER)
        database.close()
        served = _serve(folder, port)
        page = context.new_page()
        page.goto("/waiting")
        page.evaluate(PUT, in_turn(entries))
        sent = itertools.count(1)

        def pass_on(route: Route) -> None:
            route.continue_()
            if next(sent) == FATAL:
                served.kill()

        page.route("**/api/tallies", pass_on)
        page.evaluate("void Stopline.sending.replay()")
        expect(page.locator("#waiting[data-why=unreachable]")).to_be_visible(timeout=60_000)
        served.wait()
        database = open_database(f"sqlite:///{folder / 'studio.sqlite'}")
        with serving(database, port=port) as live:
            page.reload()
            until_sent(page)
            assert done(live, gown.mark) == len(entries) / 10
            assert len(rows(live, gown.mark)) == len(entries)
        database.close()


def _serve(folder: Path, port: int) -> "subprocess.Popen[bytes]":
    """The service in a process of its own, ready to answer."""
    command = [sys.executable, "-m", "service.cli", "serve", "--data", str(folder), "--port", str(port)]
    environment = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
    served = subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    for _ in range(600):
        assert served.poll() is None, "the service stopped by itself"
        try:
            httpx2.get(f"http://127.0.0.1:{port}/health", timeout=5)
        except httpx2.TransportError:
            time.sleep(0.1)
        else:
            return served
    raise AssertionError("the service did not start")
