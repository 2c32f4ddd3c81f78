"""The commission that the guide shows in pictures is walked, so that what the guide tells can be done as it tells it."""

import shutil
from datetime import UTC, datetime
from pathlib import Path

from playwright.sync_api import Browser, Page, expect

from service.records.db import open_database
from service.studio.proofs import prove
from tests.browser.one_commission import STAGES, walk
from tests.serving import serving


def test_one_commission_goes_from_the_first_talk_to_the_delivery(
    browser: Browser, demo_file: Path, tmp_path: Path
) -> None:
    path = tmp_path / "studio.sqlite"
    shutil.copyfile(demo_file, path)
    database = open_database(f"sqlite:///{path}")
    passed: list[str] = []

    def look(stage: str, page: Page, at: str) -> None:
        expect(page.locator(at).first).to_be_visible()
        passed.append(stage)

    with serving(database) as live:
        walk(live, browser, datetime.now(UTC).date(), look)
    assert passed == list(STAGES)
    with database.reading() as db:
        assert prove(db).faults == ()
    database.close()
