"""Takes the README's picture of the work table and the guide's pictures of one commission, from a fresh demo studio.

Run it as `python -m tests.browser.take_pictures` in `.venv` after a change of how pages look; `work-table` or `guide`
behind it takes only those.
"""

import os
import shutil
import sys
import tempfile
from collections.abc import Sequence
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright
from sqlmodel import select

from service.records.db import migrate, open_database
from service.records.tables import Account
from service.studio.demo import DEMO_EMAILS, fill_or_refresh
from service.studio.sign_in import begin_session
from service.web.deps import PLAIN_COOKIE
from service.web.render import STATIC
from tests.browser.conftest import QUIET
from tests.browser.one_commission import PASSWORD, STAGES, walk
from tests.serving import Live, serving

PICTURE = Path(__file__).resolve().parents[2] / "seed_data" / "pictures" / "work-table.png"
QUALITY, MOST_BYTES = 70, 600_000
COLOURS = 64  # of a page drawn with few, a third of the weight
TO_THE_TOP = "where => where.scrollIntoView({ block: 'start' })"


def take(wanted: Sequence[str]) -> None:
    """Fill a demo studio in a folder of its own, and take the pictures that are wanted of it."""
    now = datetime.now(UTC)
    with tempfile.TemporaryDirectory() as folder:
        url = f"sqlite:///{folder}/studio.sqlite"
        migrate(url)
        database = open_database(url)
        fill_or_refresh(database, PASSWORD, 0, now)
        found = os.environ.get("STOPLINE_CHROMIUM") or shutil.which("chromium")
        with serving(database) as live, sync_playwright() as driver:
            browser = driver.chromium.launch(executable_path=found, args=list(QUIET))
            if "work-table" in wanted:
                _work_table(live, browser, now)
            if "guide" in wanted:
                walk(live, browser, now.date(), _keep)
                weight = sum(_place(stage).stat().st_size for stage in STAGES)
                print(f"{len(STAGES)} pictures, {weight / 1000:.0f} kB, of {MOST_BYTES / 1000:.0f} kB at most")
            browser.close()
        database.close()


def _work_table(live: Live, browser: Browser, now: datetime) -> None:
    with live.database.writing() as db:
        account = db.exec(select(Account).where(Account.email == DEMO_EMAILS["edda"])).one()
        assert account.id is not None
        secret = begin_session(db, account.id, now)
    page = browser.new_page(viewport={"width": 1100, "height": 900}, color_scheme="light")
    page.context.add_cookies([{"name": PLAIN_COOKIE, "value": secret, "url": live.url}])
    page.goto(f"{live.url}/")
    PICTURE.parent.mkdir(exist_ok=True)
    seen = Image.open(BytesIO(page.screenshot(full_page=True))).convert("RGB")
    seen.quantize(COLOURS, dither=Image.Dither.NONE).save(PICTURE, optimize=True)
    page.context.close()


def _keep(stage: str, page: Page, at: str) -> None:
    """Keep what stands on the screen with that part of the page at its top."""
    page.locator(at).first.evaluate(TO_THE_TOP)
    picture = Image.open(BytesIO(page.screenshot())).convert("RGB")
    picture.save(_place(stage), "WEBP", quality=QUALITY, method=6)


def _place(stage: str) -> Path:
    return STATIC / f"walk-{stage}.webp"


if __name__ == "__main__":
    take(sys.argv[1:] or ("work-table", "guide"))
