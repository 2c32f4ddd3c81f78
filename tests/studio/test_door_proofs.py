"""What must hold of who comes in is seen at once when it does not."""

import pytest
from sqlmodel import text

from service.records.db import Database
from service.studio import ways_in
from service.studio.proofs import prove
from service.studio.sign_in import begin_session, make_token
from service.studio.statements_doors import DOORS
from service.studio.stitchers import switch_account
from tests.counting import person, stitcher_id
from tests.serving import OWNER, START, STITCHER

BROKEN = (
    "update login_session set ended_at = null where account_id = 2",
    "update access_token set ended_at = null where account_id = 2",
    "update way_in set withdrawn_at = null",
)


@pytest.mark.parametrize("which", range(len(DOORS)))
def test_a_door_left_open_by_hand_is_seen(sqlite_database: Database, which: int) -> None:
    with sqlite_database.writing() as db:
        stitcher = person(db, STITCHER)
        assert stitcher.id == 2
        begin_session(db, stitcher.id, START)
        make_token(db, STITCHER, START)
        for _ in range(2):
            ways_in.make_way_in(db, stitcher.id, person(db, OWNER).id, "reset", START)
        switch_account(db, stitcher_id(db, STITCHER), active=False, at=START)
    with sqlite_database.reading() as there:
        assert prove(there).faults == ()
    with sqlite_database.writing() as db:
        assert db.connection().execute(text(BROKEN[which])).rowcount > 0
    with sqlite_database.reading() as there:
        (fault,) = prove(there).faults
    assert fault.startswith(f"It does not hold that {DOORS[which].says}")
