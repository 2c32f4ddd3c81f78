"""Counts kept on a phone and sent in six orders must come to one end. By command with as many as you like:

python -m tests.browser.six_orders --entries 500
"""

import argparse
import os
import random
import shutil
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, BrowserContext, Page, Route, expect, sync_playwright

from tests.browser.at_table import PUT, Gown, done, make_gown, phone, rows, running, until_sent
from tests.browser.conftest import QUIET
from tests.serving import OWNER

End = tuple[float, list[tuple[str, str, int, int | None]]]


def made(gown: Gown, counts: int, taken_back: int) -> list[dict[str, Any]]:
    """Entries as the page makes them, 0.1 cm each, and after them some that take one back."""
    at = datetime.now(UTC).isoformat()
    whose = {"account": gown.owner, "step": gown.mark, "counted": 0.1, "at": at, "state": "waiting", "tries": 0}
    work = [{**whose, "key": f"work {each}", "kind": "work", "minutes": 0.5} for each in range(counts)]
    back = [
        {**whose, "key": f"back {each}", "kind": "counter", "takes_back": f"work {each * (counts // taken_back)}"}
        for each in range(taken_back)
    ]
    return work + back


def in_turn(entries: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The same entries with the turn in which they were made."""
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
    page.evaluate(PUT, in_turn(entries))
    context.set_offline(False)
    if order.startswith("an answer lost"):
        expect(page.locator("#waiting[data-why=unreachable]")).to_be_visible(timeout=60_000)
        context.set_offline(False)
    until_sent(page)


def ends_of(browser: Browser, gown: Gown, folder: Path, counts: int, taken_back: int) -> list[End]:
    """How much is done in the end, and what was counted, for each order."""
    ends = []
    for place, order in enumerate(ORDERS):
        entries = made(gown, counts, taken_back)
        if order == "backwards":
            entries.reverse()
        elif order.startswith("shuffled"):
            random.Random(order).shuffle(entries)
        with (
            running(gown, folder / str(place)) as live,
            phone(browser, live, OWNER, service_workers="block") as context,
        ):
            page = context.new_page()
            page.goto("/waiting")
            _send(page, context, entries, order)
            if order == "twice over":
                _send(page, context, entries, order)
            ends.append((done(live, gown.mark), rows(live, gown.mark)))
    return ends


def main() -> None:
    """Send so many counts in each order, and print how many were kept and how long it took."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--entries", type=int, default=500)
    entries = parser.parse_args().entries
    back = entries // 10
    folder = Path(tempfile.mkdtemp())
    began = time.monotonic()
    with sync_playwright() as driver:
        found = os.environ.get("STOPLINE_CHROMIUM") or shutil.which("chromium")
        browser = driver.chromium.launch(executable_path=found, args=list(QUIET))
        ends = ends_of(browser, make_gown(folder / "gown.sqlite"), folder, entries - back, back)
        browser.close()
    shutil.rmtree(folder)
    right = [end[0] == (entries - 2 * back) / 10 and len(end[1]) == entries for end in ends]
    print(f"{sum(right)} of {len(ends)} orders right, {len({str(end) for end in ends})} end of {entries} entries each")
    print(f"in {time.monotonic() - began:.0f} s")


if __name__ == "__main__":
    main()
