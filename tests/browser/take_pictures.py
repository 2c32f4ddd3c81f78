"""Takes the README's picture of the work table from a fresh demo studio.

Run it as `python -m tests.browser.take_pictures` in `.venv` after a change of how the work table looks.
"""

import os
import shutil
import tempfile
from datetime import UTC, datetime
from pathlib import Path

from playwright.sync_api import sync_playwright
from sqlmodel import select

from service.records.db import migrate, open_database
from service.records.tables import Account
from service.studio.demo import DEMO_EMAILS, fill_or_refresh
from service.studio.sign_in import begin_session
from service.web.deps import PLAIN_COOKIE
from tests.browser.conftest import QUIET
from tests.serving import serving

PICTURE = Path(__file__).resolve().parents[2] / "seed_data" / "pictures" / "work-table.png"


def take() -> None:
    """Fill a demo studio in a folder of its own, open the work table, and keep its picture."""
    now = datetime.now(UTC)
    with tempfile.TemporaryDirectory() as folder:
        url = f"sqlite:///{folder}/studio.sqlite"
        migrate(url)
        database = open_database(url)
        fill_or_refresh(database, "linen and patience", 0, now)
        with database.writing() as db:
            account = db.exec(select(Account).where(Account.email == DEMO_EMAILS["edda"])).one()
            assert account.id is not None
            secret = begin_session(db, account.id, now)
        found = os.environ.get("STOPLINE_CHROMIUM") or shutil.which("chromium")
        with serving(database) as live, sync_playwright() as driver:
            browser = driver.chromium.launch(executable_path=found, args=list(QUIET))
            page = browser.new_page(viewport={"width": 1100, "height": 900}, color_scheme="light")
            page.context.add_cookies([{"name": PLAIN_COOKIE, "value": secret, "url": live.url}])
            page.goto(f"{live.url}/")
            PICTURE.parent.mkdir(exist_ok=True)
            page.screenshot(path=PICTURE, full_page=True)
            browser.close()
        database.close()


if __name__ == "__main__":
    take()
