"""Links that set a password: once, for a short time, whoever sends them, and nothing more than that."""

from concurrent.futures import ThreadPoolExecutor
from datetime import datetime, timedelta

import pytest
from sqlmodel import select

from service.errors import Conflict, NotFound, Unreadable
from service.records.db import Database, Writing
from service.records.tables import Account, Event, LoginSession, WayIn
from service.studio import ways_in
from service.studio.sign_in import begin_session, sha256
from service.studio.stitchers import switch_account
from tests.counting import person
from tests.serving import OWNER, START, STITCHER

LATER = START + timedelta(minutes=5)


def _made(db: Writing, kind: str = "reset") -> str:
    return ways_in.make_way_in(db, person(db, STITCHER).id, person(db, OWNER).id, kind, START)


def _is_good(db: Writing, secret: str, at: datetime = LATER) -> bool:
    try:
        ways_in.open_way_in(db, secret, at)
    except NotFound:
        return False
    return True


@pytest.mark.parametrize(("kind", "lasts"), [("invite", timedelta(days=3)), ("reset", timedelta(hours=3))])
def test_a_link_ends_by_itself(sqlite_database: Database, kind: str, lasts: timedelta) -> None:
    with sqlite_database.writing() as db:
        secret = _made(db, kind)
        assert _is_good(db, secret, START + lasts - timedelta(seconds=1))
        assert not _is_good(db, secret, START + lasts)
        assert not _is_good(db, "guessed")


def test_its_secret_is_long_and_kept_nowhere(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        secret = _made(db)
        assert len(secret) == 43  # 256 bits
        assert db.exec(select(WayIn.secret_sha256)).one() == sha256(secret)
        assert secret not in str(db.exec(select(Event)).all())


def test_a_newer_link_a_withdrawal_and_a_switched_off_account_make_it_good_for_nothing(
    sqlite_database: Database,
) -> None:
    with sqlite_database.writing() as db:
        stitcher, owner = person(db, STITCHER), person(db, OWNER)
        first, second = _made(db), _made(db)
        assert (_is_good(db, first), _is_good(db, second)) == (False, True)
        assert list(ways_in.links_waiting(db, LATER)) == [stitcher.id]
        ways_in.withdraw(db, stitcher.id, owner.id, LATER)
        assert not _is_good(db, second)
        third = _made(db)
        assert stitcher.stitcher_id is not None
        switch_account(db, stitcher.stitcher_id, active=False, at=LATER)
        assert not _is_good(db, third)
        with pytest.raises(Conflict, match="may not sign in just now"):
            _made(db)


def test_using_it_sets_the_password_and_signs_out_everywhere(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        stitcher = person(db, STITCHER)
        begin_session(db, stitcher.id, START)
        opened = ways_in.open_way_in(db, _made(db), LATER)
        assert (opened.kind, opened.email) == ("reset", STITCHER)
        with pytest.raises(Unreadable, match="little more than a name"):
            ways_in.check_new_password(db, opened, "WrenHallam123")
        ways_in.use_way_in(db, opened, "the digest of it", LATER)
        assert db.get_one(Account, stitcher.id).password_hash == "the digest of it"
        assert db.exec(select(LoginSession.ended_at)).all() == [LATER]


def test_sent_twice_at_once_it_sets_one_password(database: Database) -> None:
    with database.writing() as db:
        opened = ways_in.open_way_in(db, _made(db), LATER)

    def use(password_hash: str) -> str:
        try:
            with database.writing() as db:
                ways_in.use_way_in(db, opened, password_hash, LATER)
        except NotFound:
            return ""
        return password_hash

    with ThreadPoolExecutor(4) as pool:
        (used,) = set(pool.map(use, ["a", "b", "c", "d"])) - {""}
    with database.reading() as there:
        assert there.exec(select(Account.password_hash).where(Account.email == STITCHER)).one() == used
