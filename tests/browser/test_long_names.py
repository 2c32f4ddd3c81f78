"""Names of sixty letters without a gap: every list and page of the demo keeps to the width of its screen."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser
from sqlmodel import SQLModel, col, select

from service.records.db import open_database
from service.records.tables import Client, Cloth, Commission, Garment, Panel, Section, Stitcher, Studio
from service.studio.demo import DEMO_EMAILS
from tests.browser.test_every_page import at_work
from tests.serving import Live, serving

LONG = "Hohlsaumtaufkleidchenwerkstattauftragsbezeichnungsaufstellung"
NAMED: tuple[tuple[type[SQLModel], str], ...] = (
    *((table, "name") for table in (Client, Cloth, Garment, Panel, Section, Stitcher, Studio)),
    (Commission, "title"),
)
WIDE = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"


@pytest.fixture
def long_named(demo_file: Path, tmp_path: Path) -> Iterator[Live]:
    """A running service on the demo studio, everything in it called by sixty letters."""
    path = tmp_path / "studio.sqlite"
    shutil.copyfile(demo_file, path)
    database = open_database(f"sqlite:///{path}")
    with database.writing() as db:
        for table, name in NAMED:
            for at, row in enumerate(db.exec(select(table)).all()):
                setattr(row, name, f"{LONG}{at}")
    with serving(database) as live:
        yield live
    database.close()


def test_names_of_sixty_letters_push_nothing_off_the_sheet(browser: Browser, long_named: Live) -> None:
    with long_named.database.reading() as db:
        garment, step = db.exec(
            select(Garment.id, Garment.next_step_id).where(col(Garment.next_step_id).is_not(None))
        ).first() or (None, None)
    addresses = (
        "/",
        "/diary",
        "/commissions",
        "/quotes",
        "/clients",
        "/cloth",
        "/books",
        "/stitchers",
        f"/garments/{garment}",
    )
    wide = []
    with at_work(browser, long_named, DEMO_EMAILS["edda"], reduced_motion="reduce") as page:
        for address in (*addresses, f"/garments/{garment}/papers", f"/steps/{step}"):
            page.goto(address)
            for width in (320, 768, 1280):
                page.set_viewport_size({"width": width, "height": 900})
                if page.evaluate(WIDE) > 0:
                    wide.append(f"{address} at {width}")
    assert wide == []
