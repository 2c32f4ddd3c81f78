"""A cheap phone on slow 4G: what a client or stitcher waits for, measured in Chromium on the demo studio.

`python -m tests.bench.phone` slows the network to 1.6 Mbit/s with 150 ms a round trip and the processor to a quarter,
and opens the tally page, the work table and the client's window with nothing kept from before: the largest paint, how
far things moved while they stood, and on the tally page how long a tap takes until its effect is drawn. The processor
is slowed from what this machine can do now, so a busy machine makes the figures worse than they are.
"""

import argparse
import contextlib
import os
import shutil
import statistics
import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from playwright.sync_api import Browser, Page, ViewportSize, sync_playwright

from service.records.db import open_database
from service.studio.sign_in import begin_session
from tests.bench.big import Studio, studio_of, window_cookie
from tests.bench.figures import Figure, table
from tests.bench.pages import service_on
from tests.browser.at_table import make_gown

NETWORK = {"offline": False, "latency": 150, "downloadThroughput": 200_000, "uploadThroughput": 93_750}
SLOWER = 4
PHONE: ViewportSize = {"width": 390, "height": 844}
MOST_PAINT_S, MOST_TAP_MS, MOST_SHIFT = 1.5, 100, 0.02
ROUNDS, TAPS = 3, 3
SETTLES_MS, PATIENCE_MS = 1000, 180_000
WATCH = """
window.stoplineSeen = {paint: 0, shift: 0, tap: 0};
new PerformanceObserver(list => list.getEntries().forEach(each => { stoplineSeen.paint = each.startTime; }))
    .observe({type: "largest-contentful-paint", buffered: true});
new PerformanceObserver(list => list.getEntries().forEach(each => { if (!each.hadRecentInput) stoplineSeen.shift += each.value; }))
    .observe({type: "layout-shift", buffered: true});
new PerformanceObserver(list => list.getEntries().forEach(each => {
    if (each.name === "pointerup" || each.name === "click") stoplineSeen.tap = Math.max(stoplineSeen.tap, each.duration);
})).observe({type: "event", durationThreshold: 16, buffered: true});
"""
QUIET = ("--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update")


def main(rounds: int = ROUNDS, say: Callable[[str], None] = print) -> int:
    """Measure and say it; 1 when a mark is missed."""
    found = os.environ.get("STOPLINE_CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
    with tempfile.TemporaryDirectory(prefix="stopline-phone-") as place, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=found, args=list(QUIET))
        gown, demo = _gown(Path(place) / "gown"), studio_of(Path(place) / "demo", 0)
        with service_on(gown) as service:
            table_page = Opened("tally page", service.url(f"/steps/{gown.step}/table"), gown.cookie, taps=True)
            figures = _measured(browser, table_page, rounds)
        with service_on(demo) as service:
            figures += _measured(browser, Opened("work table", service.url("/"), demo.cookie), rounds)
            window = Opened("client's window", service.url("/window"), window_cookie(service, demo))
            figures += _measured(browser, window, rounds)
        browser.close()
    say(f"Slow 4G, processor slowed {SLOWER} times, load average {os.getloadavg()[0]:.1f}.")
    say(table(figures))
    return int(any(each.is_missed for each in figures))


@dataclass(frozen=True, slots=True)
class Opened:
    """One page, whose browser opens it, and whether bundles are tapped on it."""

    name: str
    url: str
    cookie: str
    taps: bool = False


def _gown(folder: Path) -> Studio:
    """A gown in a stitcher's hands, worked up to the knots of its first band."""
    folder.mkdir()
    made = make_gown(folder / "studio.sqlite")
    database = open_database(f"sqlite:///{made.file}")
    with database.writing() as db:
        cookie = begin_session(db, made.account, datetime.now(UTC))
    database.close()
    return Studio(folder, f"stopline={cookie}", "", garment=1, commission=1, step=made.knots)


def _measured(browser: Browser, opened: Opened, rounds: int) -> list[Figure]:
    seen = [_once(browser, opened) for _ in range(rounds)]
    paint, shift, tap = (statistics.median(each[what] for each in seen) for what in ("paint", "shift", "tap"))
    figures = [
        Figure("phone", f"{opened.name}: largest paint", paint / 1000, "s", MOST_PAINT_S),
        Figure("phone", f"{opened.name}: moved while it stood", shift, "", MOST_SHIFT),
    ]
    return (
        [*figures, Figure("phone", f"{opened.name}: tap until seen", tap, "ms", MOST_TAP_MS)]
        if opened.taps
        else figures
    )


def _once(browser: Browser, opened: Opened) -> dict[str, float]:
    """One visit by a browser that keeps nothing from before: ms of the largest paint and the slowest tap, the shift."""
    with contextlib.closing(browser.new_context(viewport=PHONE, has_touch=True, is_mobile=True)) as context:
        name, _, value = opened.cookie.partition("=")
        context.add_cookies([{"name": name, "value": value, "url": opened.url}])
        context.set_default_timeout(PATIENCE_MS)
        page = context.new_page()
        page.add_init_script(WATCH)
        to_browser = context.new_cdp_session(page)
        to_browser.send("Network.enable")
        to_browser.send("Network.emulateNetworkConditions", NETWORK)
        to_browser.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
        page.goto(opened.url, wait_until="networkidle")
        page.wait_for_timeout(SETTLES_MS)
        found = page.evaluate("({paint: stoplineSeen.paint, shift: stoplineSeen.shift})")
        if opened.taps:
            _tap(page)
        found["tap"] = page.evaluate("stoplineSeen.tap")
        return {str(what): float(value) for what, value in found.items()}


def _tap(page: Page) -> None:
    for _ in range(TAPS):
        aim = page.locator(".band").get_attribute("aria-valuenow")
        page.tap(f"[data-number='{aim}']")
        page.wait_for_timeout(SETTLES_MS)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description="Measure what a cheap phone on slow 4G waits for.")
    parser.add_argument("--rounds", type=int, default=ROUNDS, help="visits a page, of which the middle counts")
    sys.exit(main(parser.parse_args().rounds))
