"""An older backup put back lets nobody in as she was, and says no word of whoever was erased since."""

from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

import pytest
from sqlmodel import col, select

from service.errors import NotFound
from service.records.db import Database, open_database, sqlite_url
from service.records.photo_store import FolderStore
from service.records.tables import Client, Event, KnownBrowser, SecondStep
from service.studio import client_data
from service.studio.after_restoring import PUT_BACK, Settled, settling
from service.studio.backup import back_up
from service.studio.calendar import make_link as make_calendar
from service.studio.known_browsers import make_known
from service.studio.proofs import prove
from service.studio.restoring import restore
from service.studio.second_step import codes_left, new_recovery_codes
from service.studio.sessions import open_sessions
from service.studio.sign_in import begin_session, make_token, person_of_session
from service.studio.ways_in import make_way_in, open_way_in
from service.studio.window import make_link as make_window
from tests.building import a_commission
from tests.conftest import fresh_url
from tests.counting import person
from tests.serving import OWNER, START, STITCHER

LATER = START + timedelta(hours=1)


@dataclass(frozen=True)
class Secrets:
    """What opened something when the backup was made."""

    session: str
    way_in: str


def _all_doors(database: Database) -> Secrets:
    """A studio in which every kind of door stands open."""
    with database.writing() as db:
        owner, wren = person(db, OWNER), person(db, STITCHER)
        commission = a_commission(db, state="closed")
        db.add(SecondStep(account_id=owner.id, secret="ABC", created_at=START, confirmed_at=START))
        new_recovery_codes(db, owner.id, START)
        make_known(db, owner.id, START)
        make_token(db, OWNER, START)
        make_calendar(db, owner.id, START, with_clients=False)
        make_window(db, owner, commission.id or 0, ("to Hester", 30), START)
        return Secrets(begin_session(db, wren.id, START), make_way_in(db, wren.id, owner.id, "reset", START))


def _put_back(backup: Path, url: str, new: Path, erased: list[int]) -> Settled:
    new.mkdir(exist_ok=True)
    client_data.remember(new, erased)
    store = FolderStore(new / "photos")
    return restore(backup, url, new, store, settling(new, store, LATER)).settled


def test_whoever_was_signed_in_when_the_backup_was_made_is_so_no_more(
    kind: str, database: Database, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    secrets = _all_doors(database)
    with database.reading() as db:
        assert person_of_session(db, secrets.session, LATER) is not None
    back_up(database, FolderStore(tmp_path / "photos"), tmp_path / "studio.zip", START)
    new = tmp_path / "new"
    url = sqlite_url(new) if kind == "sqlite" else fresh_url(kind, tmp_path, request)
    settled = _put_back(tmp_path / "studio.zip", url, new, [])
    assert settled == Settled(signed_out=1, links=1, codes=8, erased=0, windows=1, calendars=1, tokens=1)
    put_back = open_database(url)
    with put_back.reading() as db:
        assert person_of_session(db, secrets.session, LATER) is None
        assert [open_sessions(db, number, LATER) for number in (1, 2, 3)] == [[], [], []]
        assert codes_left(db, 1) == 0
        assert db.exec(select(KnownBrowser)).all() == []
        with pytest.raises(NotFound):
            open_way_in(db, secrets.way_in, LATER)
        assert db.exec(select(Event.action).order_by(col(Event.id).desc())).first() == PUT_BACK
        assert prove(db).faults == ()
    put_back.close()


def test_what_is_said_of_it_names_what_must_be_looked_at() -> None:
    said = Settled(3, 1, 10, 1, 2, 1, 4).lines()
    assert said[0].startswith("Everybody has to sign in again: 3 sign-ins, 1 links to set a password and 10 recovery")
    assert said[1] == "Erased again, as it was erased since: the data of 1 client."
    assert all(word in said[2] for word in ("2 links of clients", "1 of calendars", "4 tokens", "every password"))
    assert len(Settled().lines()) == 2


def test_no_byte_of_an_older_backup_put_back_names_whoever_was_erased_since(
    sqlite_database: Database, tmp_path: Path
) -> None:
    with sqlite_database.writing() as db:
        commission = a_commission(db, state="closed")
        client = db.get_one(Client, commission.client_id)
        client.name, client.notes = "Philippa Quillfeather", "Quillfeather " * 900
        client_id = client.id or 0
    back_up(sqlite_database, FolderStore(tmp_path / "photos"), tmp_path / "studio.zip", START)
    folder = Path(str(sqlite_database.writer.url.database)).parent
    assert _naming(folder, "Quillfeather") != []
    client_data.erase_for_good(sqlite_database, FolderStore(tmp_path / "photos"), client_id, 1, LATER)
    assert _naming(folder, "Quillfeather") == []
    new = tmp_path / "new"
    settled = _put_back(tmp_path / "studio.zip", sqlite_url(new), new, [client_id])
    assert settled.erased == 1
    assert _naming(new, "Quillfeather") == []


def _naming(folder: Path, word: str) -> list[str]:
    """The files of a data folder, packed backups aside, in which a word can still be found."""
    files = [path for path in folder.rglob("*") if path.is_file() and path.suffix != ".zip"]
    return [path.name for path in files if word.encode() in path.read_bytes()]
