"""Takes pictures of every page and paper, to be looked at: filled, refused and empty, narrow and wide, light and dark.

python -m tests.browser.every_picture                  # into pictures/every, with sheets of many beside one another
python -m tests.browser.every_picture quotes cloth     # only addresses that hold one of these words

Papers need Debian's poppler-utils, and are left out without it.
"""

import argparse
import os
import re
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import ExitStack, closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal

from playwright.sync_api import Browser, Page, sync_playwright
from sqlmodel import col, select

from service.records.db import migrate, open_database
from service.records.tables import Quote
from service.studio.demo import DEMO_EMAILS
from service.studio.window import make_link
from tests.browser.conftest import QUIET
from tests.browser.contact_sheets import lay_out
from tests.browser.test_every_page import PHONE, at_work, every_address, is_refused
from tests.counting import person
from tests.filled import demo_in
from tests.serving import OWNER, Live, open_studio, serving

FOLDER = Path(__file__).resolve().parents[2] / "pictures" / "every"
LOOKS: tuple[tuple[str, Literal["light", "dark"], int, int], ...] = (
    ("phone-light", "light", PHONE["width"], PHONE["height"]),
    ("phone-dark", "dark", PHONE["width"], PHONE["height"]),
    ("laptop-light", "light", 1280, 900),
    ("laptop-dark", "dark", 1280, 900),
)
DOTS_PER_INCH = "80"


@dataclass(frozen=True)
class Album:
    """Where pictures go, and the words by which addresses are chosen; all without words."""

    words: tuple[str, ...]

    def wants(self, address: str) -> bool:
        return not self.words or any(word in address for word in self.words)

    def take(self, page: Page, kind: str, address: str) -> None:
        """The page as it stands, in each of the looks."""
        name = re.sub(r"[^a-z0-9]+", "-", f"{kind}{address}".lower()).strip("-")
        for look, scheme, width, height in LOOKS:
            page.set_viewport_size({"width": width, "height": height})
            page.emulate_media(color_scheme=scheme)
            page.screenshot(path=FOLDER / look / f"{name}.png", full_page=True)

    def walk(self, page: Page, kind: str, addresses: list[str], *, and_refused: bool = False) -> None:
        """Open each address, and what comes back when its form is sent as it must not be."""
        for address in filter(self.wants, addresses):
            page.goto(address)
            if page.locator("#reach").count():
                page.wait_for_selector(".band svg")
            self.take(page, kind, address)
            if and_refused and is_refused(page):
                self.take(page, "refused", address)


@contextmanager
def _studio(path: Path) -> Iterator[Live]:
    database = open_database(f"sqlite:///{path}")
    with serving(database) as live:
        yield live
    database.close()


def _unopened(folder: Path) -> Path:
    path = folder / "studio.sqlite"
    migrate(f"sqlite:///{path}")
    return path


def _opened(folder: Path) -> Path:
    path = _unopened(folder)
    database = open_database(f"sqlite:///{path}")
    open_studio(database)
    database.close()
    return path


def _window_of(live: Live) -> tuple[str, int]:
    """A fresh secret of the client whose quote waits for her yes, and the quote's number."""
    with live.database.writing() as db:
        quote = db.exec(select(Quote).where(Quote.state == "sent").order_by(col(Quote.id).desc())).first()
        assert quote is not None
        assert quote.id is not None
        owner = person(db, DEMO_EMAILS["edda"])
        return make_link(db, owner, quote.commission_id, ("Her phone", 30), datetime.now(UTC)), quote.id


def _papers(album: Album, live: Live, addresses: list[str]) -> None:
    if not shutil.which("pdftoppm"):
        print("pdftoppm is not here: papers are left out (apt-get install poppler-utils)")
        return
    with live.signed_in(DEMO_EMAILS["edda"]) as client:
        for address in filter(album.wants, addresses):
            answer = client.get(address)
            name = re.sub(r"[^a-z0-9]+", "-", address.removesuffix(".pdf").lower()).strip("-")
            if answer.status_code == 200:
                asked = ["pdftoppm", "-png", "-r", DOTS_PER_INCH, "-", str(FOLDER / "papers" / name)]
                subprocess.run(asked, input=answer.content, check=True)


def _owner(album: Album, browser: Browser, demo: Live, addresses: list[str]) -> None:
    with at_work(browser, demo, DEMO_EMAILS["edda"], reduced_motion="reduce") as page:
        album.walk(page, "full", addresses, and_refused=True)
        album.walk(page, "fault", ["/no-such-page", "/garments/999", "/steps/999/table"])
    with at_work(browser, demo, DEMO_EMAILS["tilly"], reduced_motion="reduce") as page:
        album.walk(page, "stitcher", ["/", "/stitchers/me", "/diary", "/designs", "/books"])


def _others(album: Album, browser: Browser, demo: Live, empty: Live, unopened: Live, addresses: list[str]) -> None:
    with at_work(browser, empty, OWNER, reduced_motion="reduce") as page:
        album.walk(page, "empty", [path for path in addresses if not re.search(r"/(\d|new|reckoner/)", path)])
    for kind, live, doors in (("door", empty, ["/login"]), ("door", unopened, ["/"])):
        with closing(browser.new_context(base_url=live.url, viewport=PHONE)) as context:
            album.walk(context.new_page(), kind, doors, and_refused=True)
    secret, quote_id = _window_of(demo)
    with closing(browser.new_context(base_url=demo.url, viewport=PHONE)) as context:
        page = context.new_page()
        page.goto(f"/window/in/{secret}")
        album.take(page, "window", "/door")
        page.get_by_role("button", name="Open it").click()
        album.walk(page, "window", ["/window", f"/window/quotes/{quote_id}"], and_refused=True)


def take(words: tuple[str, ...]) -> None:
    """Fill a demo studio and an empty one, open every page and paper of them, and lay the pictures out."""
    album = Album(words)
    shutil.rmtree(FOLDER, ignore_errors=True)
    for each in (*(look for look, *_ in LOOKS), "papers", "sheets"):
        (FOLDER / each).mkdir(parents=True)
    with ExitStack() as stack:
        folders = [Path(stack.enter_context(tempfile.TemporaryDirectory())) for _ in range(3)]
        filled = demo_in(folders[0])
        database = open_database(f"sqlite:///{filled}")
        pages = every_address(database)
        papers = every_address(database, ".pdf")
        database.close()
        demo = stack.enter_context(_studio(filled))
        found = os.environ.get("STOPLINE_CHROMIUM") or shutil.which("chromium")
        driver = stack.enter_context(sync_playwright())
        browser = driver.chromium.launch(executable_path=found, args=list(QUIET))
        _owner(album, browser, demo, pages)
        with _studio(_opened(folders[1])) as empty, _studio(_unopened(folders[2])) as unopened:
            _others(album, browser, demo, empty, unopened, pages)
        _papers(album, demo, papers)
        browser.close()
    for look in ("phone-light", "phone-dark", "laptop-light", "laptop-dark", "papers"):
        lay_out(FOLDER / look, FOLDER / "sheets")


if __name__ == "__main__":
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("words", nargs="*", help="only addresses that hold one of these words")
    take(tuple(asked.parse_args().words))
