"""Counting away from the network, in a real browser: kept on the device, sent when it can be, each count once."""

import os
import random
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import httpx2
import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Route, ViewportSize, expect
from sqlmodel import col, select

from service.records.db import Database, migrate, open_database
from service.records.tables import Account, Step, Tally
from service.studio.proofs import prove
from service.studio.sign_in import begin_session
from service.web.deps import PLAIN_COOKIE
from tests.building import a_garment
from tests.counting import number, person, step, stitcher_id, work_on
from tests.giving import Giving, give
from tests.serving import OWNER, SECOND, START, STITCHER, Live, open_studio, serving

PHONE: ViewportSize = {"width": 390, "height": 844}
COUNTS, TAKEN_BACK = 108, 12
PUT = """counts => new Promise((done, failed) => {
    const asked = indexedDB.open("stopline");
    asked.onsuccess = () => {
        const turn = asked.result.transaction(["counts"], "readwrite", { durability: "strict" });
        for (const count of counts) turn.objectStore("counts").put(count);
        turn.oncomplete = () => { asked.result.close(); done(); };
        turn.onabort = () => failed(turn.error);
    };
})"""


@dataclass(frozen=True)
class Gown:
    """A day gown in Wren's hands, worked up to the knots of its first band, in a file to be copied."""

    file: Path
    knots: int
    mark: int
    account: int
    owner: int


@pytest.fixture(scope="module")
def gown(tmp_path_factory: pytest.TempPathFactory) -> Gown:
    """The gown and the numbers of its steps."""
    path = tmp_path_factory.mktemp("gown") / "studio.sqlite"
    migrate(f"sqlite:///{path}")
    database = open_database(f"sqlite:///{path}")
    open_studio(database)
    with database.writing() as db:
        garment_id, owner = number(a_garment(db)), person(db, OWNER)
        work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
        give(db, owner, Giving(garment_id, stitcher_id(db, STITCHER)), START)
        knots = step(db, garment_id, "ladder_knot")
        mark = next(row for row in db.exec(_steps(garment_id)) if row.operation == "mark" and not row.done_tenths)
        found = Gown(path, number(knots), number(mark), person(db, STITCHER).id, owner.id)
    database.close()
    return found


def _steps(garment_id: int) -> Any:
    return select(Step).where(Step.garment_id == garment_id).order_by(col(Step.position))


@contextmanager
def _running(gown: Gown, folder: Path) -> Iterator[Live]:
    folder.mkdir(exist_ok=True)
    path = folder / "studio.sqlite"
    shutil.copyfile(gown.file, path)
    database = open_database(f"sqlite:///{path}")
    with serving(database) as live:
        yield live
    database.close()


@pytest.fixture
def live_gown(gown: Gown, tmp_path: Path) -> Iterator[Live]:
    """The gown's studio, running."""
    with _running(gown, tmp_path / "studio") as live:
        yield live


def _sign_in(context: BrowserContext, database: Database, url: str, email: str = STITCHER) -> None:
    with database.writing() as db:
        account = db.exec(select(Account.id).where(Account.email == email)).one()
        assert account is not None
        secret = begin_session(db, account, datetime.now(UTC))
    context.add_cookies([{"name": PLAIN_COOKIE, "value": secret, "url": url}])


@contextmanager
def _phone(browser: Browser, live: Live, email: str = STITCHER, **said: Any) -> Iterator[BrowserContext]:
    with closing(browser.new_context(viewport=PHONE, base_url=live.url, has_touch=True, **said)) as context:
        _sign_in(context, live.database, live.url, email)
        yield context


def _done(live: Live, step_id: int) -> float:
    with live.database.reading() as db:
        return db.get_one(Step, step_id).done_tenths / 10


def _rows(live: Live, step_id: int) -> list[tuple[str, str, int, int | None]]:
    with live.database.reading() as db:
        assert prove(db).faults == ()
        kept = select(Tally.key, Tally.kind, Tally.counted_tenths, Tally.seconds).where(Tally.step_id == step_id)
        return sorted(db.exec(kept).all())


def _made(gown: Gown) -> list[dict[str, Any]]:
    """Entries as the page makes them, 0.1 cm each, and after them some that take one back."""
    at = datetime.now(UTC).isoformat()
    whose = {"account": gown.owner, "step": gown.mark, "counted": 0.1, "at": at, "state": "waiting", "tries": 0}
    work = [{**whose, "key": f"work {each}", "kind": "work", "minutes": 0.5} for each in range(COUNTS)]
    back = [
        {**whose, "key": f"back {each}", "kind": "counter", "takes_back": f"work {each * 9}"}
        for each in range(TAKEN_BACK)
    ]
    return work + back


def _in_turn(entries: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return [{**entry, "turn": turn} for turn, entry in enumerate(entries)]


ORDERS = ("as made", "backwards", "shuffled", "shuffled otherwise", "twice over", "an answer lost and the net cut")


def _send(page: Page, context: BrowserContext, entries: list[dict[str, Any]], order: str) -> None:
    lost = iter([False, True])

    def answer(route: Route) -> None:
        if next(lost, False):
            route.fetch()
            context.set_offline(True)
            route.abort()
        else:
            route.continue_()

    if order.startswith("an answer lost"):
        page.route("**/api/tallies", answer)
    context.set_offline(True)
    page.evaluate(PUT, _in_turn(entries))
    context.set_offline(False)
    if order.startswith("an answer lost"):
        expect(page.locator("#waiting[data-why=unreachable]")).to_be_visible(timeout=60_000)
        context.set_offline(False)
    _until_sent(page)


def test_many_counts_in_six_orders_come_to_one_end(browser: Browser, gown: Gown, tmp_path: Path) -> None:
    ends = []
    for place, order in enumerate(ORDERS):
        entries = _made(gown)
        if order == "backwards":
            entries.reverse()
        elif order.startswith("shuffled"):
            random.Random(order).shuffle(entries)
        with (
            _running(gown, tmp_path / str(place)) as live,
            _phone(browser, live, OWNER, service_workers="block") as context,
        ):
            page = context.new_page()
            page.goto("/waiting")
            _send(page, context, entries, order)
            if order == "twice over":
                _send(page, context, entries, order)
            ends.append((_done(live, gown.mark), _rows(live, gown.mark)))
    assert ends[0][0] == (COUNTS - TAKEN_BACK) / 10
    assert len(ends[0][1]) == COUNTS + TAKEN_BACK
    assert ends[1:] == ends[:1] * (len(ORDERS) - 1)


def _until_sent(page: Page) -> None:
    """Wait until nothing is left on the device to be sent."""
    for _ in range(1200):
        if page.evaluate("async () => (await Stopline.waiting.left()).length") == 0:
            return
        page.wait_for_timeout(50)
    raise AssertionError("counts were left on the device")


class Taps:
    """A thumb on the page, and how often it tapped."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.made = 0

    def on(self, selector: str) -> None:
        self.page.locator(selector).tap()
        self.made += 1


def _at_the_table(context: BrowserContext, gown: Gown) -> Page:
    page = context.new_page()
    page.goto(f"/steps/{gown.knots}/table")
    expect(page.locator(".band")).to_be_visible()
    return page


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
    with _phone(browser, live_gown) as context:
        page = _at_the_table(context, gown)
        _kept_for_the_road(page)
        taps, left = Taps(page), page.locator("#left")
        taps.on("#to-ten")
        expect(left).to_contain_text("157 bundles left")
        _until_sent(page)
        context.set_offline(True)
        taps.on("#to-needleful")
        taps.on("#zoom")
        taps.on("[data-number='80']")
        expect(left).to_contain_text("87 bundles left")
        expect(page.locator("#waiting")).to_contain_text("2 counts waiting to be sent")
        page.close()
        page = context.new_page()
        page.goto(f"/steps/{gown.knots}/table")
        taps.page, left = page, page.locator("#left")
        expect(left).to_contain_text("87 bundles left")
        context.set_offline(False)
        _until_sent(page)
        assert _done(live_gown, gown.knots) == 80
        context.set_offline(True)
        taps.on("#to-ten")
        taps.on("#to-ten")
        context.set_offline(False)
        _until_sent(page)
        expect(left).to_contain_text("67 bundles left")
        assert taps.made <= 10
        page.close()
        page = _at_the_table(context, gown)
        expect(page.locator("#left")).to_contain_text("67 bundles left")
        expect(page.locator("[data-number='101'] .d-here-text")).to_have_text("101")
        assert _done(live_gown, gown.knots) == 100


def test_a_wrong_count_is_undone_with_the_net_cut_or_not(browser: Browser, gown: Gown, live_gown: Live) -> None:
    with _phone(browser, live_gown, service_workers="block") as context:
        page = _at_the_table(context, gown)
        page.tap("#to-ten")
        expect(page.locator("#undo-last")).to_have_text("Undo: 10 bundles")
        _until_sent(page)
        context.set_offline(True)
        page.fill("#f-reached", "14")
        page.tap("#count-it")
        page.tap("#undo-last")
        page.tap("#undo-last")
        expect(page.locator("#left")).to_contain_text("167 bundles left")
        expect(page.locator("#undo-last")).to_have_count(0)
        context.set_offline(False)
        _until_sent(page)
        assert sorted((kind, counted) for _, kind, counted, _ in _rows(live_gown, gown.knots)) == [
            ("counter", 100),
            ("work", 100),
        ]


def test_the_clock_begins_with_the_first_count_and_asks_when_nothing_was_counted_for_a_while(
    browser: Browser, gown: Gown, live_gown: Live
) -> None:
    with _phone(browser, live_gown, service_workers="block") as context:
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
        _until_sent(page)
        with live_gown.database.reading() as db:
            kept = db.exec(select(Tally.seconds).where(Tally.step_id == gown.knots).order_by(col(Tally.id))).all()
        assert (kept[0], kept[2]) == (None, 720)
        assert 360 <= (kept[1] or 0) <= 420


def test_counts_of_one_person_are_kept_at_signing_out_and_never_sent_by_another(
    browser: Browser, gown: Gown, live_gown: Live
) -> None:
    with _phone(browser, live_gown) as context:
        page = _at_the_table(context, gown)
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
        _sign_in(context, live_gown.database, live_gown.url, SECOND)
        page.goto("/")
        expect(page.locator("#waiting")).to_be_hidden()
        page.evaluate("Stopline.sending.replay()")
        assert _done(live_gown, gown.knots) == 0
        _sign_in(context, live_gown.database, live_gown.url)
        page.goto("/waiting")
        expect(page.locator("#waiting")).to_be_hidden()
        for _ in range(40):
            if _done(live_gown, gown.knots) == 10:
                break
            page.wait_for_timeout(50)
        assert _done(live_gown, gown.knots) == 10


def test_a_refused_count_is_kept_and_shown_to_be_moved_or_removed(
    browser: Browser, gown: Gown, live_gown: Live
) -> None:
    with _phone(browser, live_gown, service_workers="block") as context:
        page = context.new_page()
        page.goto("/waiting")
        lost = {"account": gown.account, "kind": "work", "counted": 5, "at": START.isoformat(), "state": "waiting"}
        gone = [{**lost, "key": "gone", "step": 999_999}, {**lost, "key": "other", "step": 999_998}]
        page.evaluate(PUT, _in_turn(gone))
        page.goto(f"/steps/{gown.knots}/table")
        expect(page.locator("#waiting")).to_contain_text("2 counts not taken")
        expect(page.locator("#refused li").first).to_contain_text("There is no such step.")
        page.tap("#remove-other")
        page.tap("#move-gone")
        _until_sent(page)
        expect(page.locator("#left")).to_contain_text("162 bundles left")
        assert _done(live_gown, gown.knots) == 5


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
    entries = _made(gown)[:COUNTS]
    with closing(browser.new_context(viewport=PHONE, base_url=url, service_workers="block")) as context:
        _sign_in(context, database, url, OWNER)
        database.close()
        served = _serve(folder, port)
        page = context.new_page()
        page.goto("/waiting")
        page.evaluate(PUT, _in_turn(entries))
        page.evaluate("void Stopline.sending.replay()")
        time.sleep(0.4)
        served.send_signal(signal.SIGKILL)
        served.wait()
        expect(page.locator("#waiting[data-why=unreachable]")).to_be_visible(timeout=60_000)
        database = open_database(f"sqlite:///{folder / 'studio.sqlite'}")
        with serving(database, port=port) as live:
            page.reload()
            _until_sent(page)
            assert _done(live, gown.mark) == len(entries) / 10
            assert len(_rows(live, gown.mark)) == len(entries)
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
