"""Studios for the bench: filled, and with what is needed to look at them signed in."""

import contextlib
import json
import logging
import re
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from sqlmodel import select

from service.records.db import migrate, open_database, sqlite_url
from service.records.tables import Account
from service.studio.big_studio import OPEN_EVERY
from service.studio.demo import DEMO_EMAILS, fill_or_refresh
from service.studio.sign_in import begin_session, make_token
from tests.bench.servers import Running, ask

OWNER = DEMO_EMAILS["edda"]
OPEN_ONE = "select id, commission_id from garment where state = 'in work' order by start_by, id limit 1"
TO_COUNT = """select s.id, s.done_tenths, min(s.quantity_tenths - s.done_tenths, 400)
from garment g join step s on s.garment_id = g.id
where g.state = 'in work' and (s.id = g.next_step_id or s.operation = 'mark' and s.done_tenths < s.quantity_tenths)
order by g.id, s.id"""  # no gate holds marking back


@dataclass(frozen=True, slots=True)
class Studio:
    """A filled studio: its folder, a browser's cookie and a script's token of the owner, an open garment."""

    folder: Path
    cookie: str
    token: str
    garment: int
    commission: int
    step: int

    @property
    def file(self) -> Path:
        """The SQLite file."""
        return self.folder / "studio.sqlite"


def studio_of(folder: Path, garments: int, open_every: int = OPEN_EVERY) -> Studio:
    """Fill a studio in a new folder.

    Nothing is analyzed: no studio is, and SQLite plans otherwise where its tables were.
    """
    logging.getLogger("alembic").setLevel(logging.WARNING)
    folder.mkdir(parents=True)
    url = sqlite_url(folder)
    migrate(url)
    database = open_database(url)
    now = datetime.now(UTC)
    fill_or_refresh(database, "a password of the bench", garments, now, open_every=open_every)
    with database.writing() as db:
        account_id = db.exec(select(Account.id).where(Account.email == OWNER)).one()
        assert account_id is not None
        cookie, token = begin_session(db, account_id, now), make_token(db, OWNER, now)
    database.close()
    with contextlib.closing(sqlite3.connect(folder / "studio.sqlite")) as file:
        garment, commission = file.execute(OPEN_ONE).fetchone()
        (step,) = file.execute("select next_step_id from garment where id = ?", (garment,)).fetchone()
    return Studio(folder, f"stopline={cookie}", token, garment, commission, step)


def counts(studio: Studio, leaves: int = 1) -> Iterator[tuple[str, bytes]]:
    """One unit on the next steps of one open garment after another, until so many units are left of each."""
    with contextlib.closing(sqlite3.connect(f"file:{studio.file}?mode=ro", uri=True)) as file:
        steps = file.execute(TO_COUNT).fetchall()
    for number in range(40):
        for step, done, left in steps:
            units, rest = divmod(left, 10)
            if number < units - leaves or (not leaves and rest and number == units):
                counted = 1 if number < units else rest / 10
                body = {"key": f"bench {step} {done} {number}", "counted": counted, "minutes": 2}
                yield f"/api/steps/{step}/tallies", json.dumps(body).encode()


def window_cookie(service: Running, studio: Studio) -> str:
    """Make a link to the open garment's window and go in by it."""
    signed_in = {"Cookie": studio.cookie}
    made = f"/commissions/{studio.commission}/window/links"
    _, headers, _ = ask(service.port, "POST", made, signed_in, "label=Bench&days=30&kind=progress")
    shown = f"{studio.cookie}; {headers['set-cookie'].partition(';')[0]}"
    _, _, page = ask(service.port, "GET", headers["location"], {"Cookie": shown})
    found = re.search(rb"/window/in/([\w-]+)", page)
    assert found, "the page that made the link does not show it"
    _, headers, _ = ask(service.port, "POST", f"/window/in/{found[1].decode()}", {}, "")
    return headers["set-cookie"].partition(";")[0]
