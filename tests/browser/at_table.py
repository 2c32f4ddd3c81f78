"""A day gown at the table, in the hands of somebody with a phone: what walks there have in common."""

import shutil
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, BrowserContext, Page, ViewportSize, expect
from sqlmodel import col, select

from service.records.db import Database, migrate, open_database
from service.records.tables import Account, Step, Tally
from service.studio.proofs import prove
from service.studio.sign_in import begin_session
from service.web.deps import PLAIN_COOKIE
from tests.building import a_garment
from tests.counting import number, person, step, stitcher_id, work_on
from tests.giving import Giving, give
from tests.serving import OWNER, START, STITCHER, Live, open_studio, serving

PHONE: ViewportSize = {"width": 390, "height": 844}
AFTER_A_TAP = 400  # ms: from then on a second tap is a tap of its own
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


def make_gown(path: Path) -> Gown:
    """Make the gown in that file; gives the numbers of its steps."""
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
def running(gown: Gown, folder: Path) -> Iterator[Live]:
    folder.mkdir(exist_ok=True)
    path = folder / "studio.sqlite"
    shutil.copyfile(gown.file, path)
    database = open_database(f"sqlite:///{path}")
    with serving(database) as live:
        yield live
    database.close()


def sign_in(context: BrowserContext, database: Database, url: str, email: str = STITCHER) -> None:
    with database.writing() as db:
        account = db.exec(select(Account.id).where(Account.email == email)).one()
        assert account is not None
        secret = begin_session(db, account, datetime.now(UTC))
    context.add_cookies([{"name": PLAIN_COOKIE, "value": secret, "url": url}])


@contextmanager
def phone(browser: Browser, live: Live, email: str = STITCHER, **said: Any) -> Iterator[BrowserContext]:
    with closing(browser.new_context(viewport=PHONE, base_url=live.url, has_touch=True, **said)) as context:
        sign_in(context, live.database, live.url, email)
        yield context


def done(live: Live, step_id: int) -> float:
    with live.database.reading() as db:
        return db.get_one(Step, step_id).done_tenths / 10


def rows(live: Live, step_id: int) -> list[tuple[str, str, int, int | None]]:
    with live.database.reading() as db:
        assert prove(db).faults == ()
        kept = select(Tally.key, Tally.kind, Tally.counted_tenths, Tally.seconds).where(Tally.step_id == step_id)
        return sorted(db.exec(kept).all())


def until_sent(page: Page) -> None:
    """Wait until nothing is left on the device to be sent."""
    for _ in range(1200):
        if page.evaluate("async () => (await Stopline.waiting.left()).length") == 0:
            return
        page.wait_for_timeout(50)
    raise AssertionError("counts were left on the device")


def at_the_table(context: BrowserContext, gown: Gown) -> Page:
    page = context.new_page()
    page.goto(f"/steps/{gown.knots}/table")
    expect(page.locator(".band")).to_be_visible()
    return page
