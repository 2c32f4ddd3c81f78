"""Looks over the service's shoulder: every transaction that it commits must tell of what it changed, whatever changed it.

It reads the statements that go to the database, so that it knows nothing of how the trail is made.
"""

import re
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any
from weakref import WeakKeyDictionary

from sqlalchemy import Connection, Engine, event

from service.records.trail import FOLLOWS, OF, UNTOLD

WRITES = re.compile(r'^\s*(?:insert\s+into|update|delete\s+from)\s+"?(\w+)"?', re.IGNORECASE)
SETS = re.compile(r"\sset\s(.*?)(?:\swhere\s|\sreturning\s|$)", re.IGNORECASE | re.DOTALL)
TOLD = "select action, object_kind, garment_id from event where id > {}"
COUNTED = {"quantity_tenths", "done_tenths"}
"""What a count writes of a step: the tally tells of it, and where the quantity grew, "more on the cloth" does too."""
ERASED = "data erased"
"""Tells of all that an erasure takes: service/studio/personal.py says of what, column by column."""


class Shoulder:
    """What the service's threads write in each transaction, and the tables of which none told anything."""

    def __init__(self) -> None:
        self.written: WeakKeyDictionary[Connection, set[str]] = WeakKeyDictionary()
        self.events_before: WeakKeyDictionary[Connection, int] = WeakKeyDictionary()
        self.changed: set[str] = set()
        self.faults: list[str] = []

    def before_cursor_execute(self, conn: Connection, _cursor: Any, statement: str, *_rest: Any) -> None:
        """Note which table a statement writes."""
        found = WRITES.match(statement)
        if found is None or threading.current_thread() is threading.main_thread():
            return
        table = found[1]
        if table == "event" and conn not in self.events_before:
            self.events_before[conn] = conn.exec_driver_sql("select coalesce(max(id), 0) from event").scalar_one()
        columns = set(re.findall(r'(?:^|,)\s*"?(\w+)"?\s*=', said[1])) if (said := SETS.search(statement)) else {""}
        is_count = table == "step" and columns == COUNTED
        if table not in UNTOLD and not is_count and not columns <= set(FOLLOWS.get(table, ())):
            self.written.setdefault(conn, set()).add(table)

    def commit(self, conn: Connection) -> None:
        """Hold what was written against what was told."""
        tables, before = self.written.pop(conn, set()), self.events_before.pop(conn, None)
        if not tables:
            return
        told = [] if before is None else conn.exec_driver_sql(TOLD.format(before)).all()
        kinds = set(_kinds(told))
        if ERASED not in {action for action, _, _ in told}:
            self.faults += [table for table in sorted(tables) if OF.get(table, (table,))[0] not in kinds]
        self.changed |= tables

    def rollback(self, conn: Connection) -> None:
        """Forget what was not kept."""
        self.written.pop(conn, None)
        self.events_before.pop(conn, None)


def _kinds(told: Sequence[Any]) -> Iterator[str]:
    for _, kind, garment_id in told:
        table = kind.replace(" ", "_")
        yield table
        if garment_id is not None and OF.get(table, ("",))[0] == "garment":
            yield "garment"


@contextmanager
def looked_over() -> Iterator[Shoulder]:
    """Look over every database's shoulder; what changed without being told stands in `faults`."""
    shoulder = Shoulder()
    listening = ("before_cursor_execute", "commit", "rollback")
    for name in listening:
        event.listen(Engine, name, getattr(shoulder, name))
    try:
        yield shoulder
    finally:
        for name in listening:
            event.remove(Engine, name, getattr(shoulder, name))
