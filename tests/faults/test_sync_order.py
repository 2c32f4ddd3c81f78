"""Every write is synced to the disk before it is answered: seen in the system calls where they may be watched."""

import sqlite3
from contextlib import closing
from pathlib import Path

from service.records.db import Database
from tests.faults.sync_order import can_trace, each_in_turn, order_of, traced

if can_trace():

    def test_tallies_pages_photos_and_a_clients_yes_are_synced_before_they_are_answered(tmp_path: Path) -> None:
        order = traced(tmp_path, each_in_turn, 12, quotes=3)
        assert (order.answered, order.unsynced) == (12 + 3, 0)  # each link that is opened is written down too

else:

    def test_every_connection_that_writes_syncs_at_each_commit(sqlite_database: Database) -> None:
        """What SQLite itself says: 2 is FULL, which syncs the log at every commit."""
        for engine in (sqlite_database.writer, sqlite_database.reader):
            with engine.connect() as connection:
                assert connection.exec_driver_sql("PRAGMA synchronous").scalar_one() == 2
                assert connection.exec_driver_sql("PRAGMA journal_mode").scalar_one() == "wal"
        with closing(sqlite3.connect(":memory:")) as other:
            assert other.execute("PRAGMA journal_mode").fetchone() == ("memory",)


def test_an_answer_without_a_sync_is_seen() -> None:
    trace = [
        '7 sendto(12, "HTTP/1.1 200 OK", 15, 0 = 15',
        "8 fdatasync(9 <unfinished ...>",
        "8 <... fdatasync resumed>) = 0",
        '7 sendto(12, "HTTP/1.1 303 See", 16, 0 = 16',
        "8 fdatasync(9) = -1 EIO (Input/output error)",
        '7 sendto(12, "HTTP/1.1 200 OK", 15, 0 = 15',
        '7 sendto(12, "HTTP/1.1 422 Unp", 16, 0 = 16',
    ]
    order = order_of(trace)
    assert (order.answered, order.unsynced) == (3, 2)
