"""How often something may be tried: waits that grow from try to try, and nobody is ever locked out.

A try is counted in the writer's turn, before the slow comparison of passwords: many at once are no way round it, nor
are several services on one database. What is counted under is kept as a digest alone.
"""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import delete
from sqlalchemy.exc import IntegrityError
from sqlmodel import col, select
from sqlmodel.sql.expression import SelectOfScalar

from service.records.at_once import at_once
from service.records.db import Writing
from service.records.tables.doors import SignInTry

FREE = 5
FREE_OF_ADDRESS = 30
WAITS_S = (15, 30, 60, 120, 240, 300)
QUIET = timedelta(minutes=15)
FORGOTTEN = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Counted:
    """What tries are counted under, and how many of them need not wait."""

    kind: str
    name: str
    free: int = FREE

    @property
    def key(self) -> str:
        """The digest by which it is kept."""
        return hashlib.sha256(f"{self.kind} {self.name}".encode()).hexdigest()


def wait_after(tries: int, free: int = FREE) -> timedelta:
    """How long after that many tries in a row the next one has to wait.

    Five at once and then 15 s, 30 s, 1, 2, 4 and at last always 5 minutes: no 10 minutes see more than 10 tries. After
    a quarter of an hour without one they begin anew.

    >>> [wait_after(tries).seconds for tries in (0, 4, 5, 6, 9, 10, 100)]
    [0, 0, 15, 30, 240, 300, 300]
    """
    if tries < free:
        return timedelta()
    return timedelta(seconds=WAITS_S[min(tries - free, len(WAITS_S) - 1)])


def count(db: Writing, under: Sequence[Counted], at: datetime) -> timedelta:
    """Count a try, or say how long it has to wait; nothing is counted of one that comes too early."""
    at_once(db, delete(SignInTry).where(col(SignInTry.last_at) < at - FORGOTTEN))
    rows = [(each, _row(db, each, at)) for each in sorted(under, key=lambda each: each.key)]
    waits = timedelta()
    for each, row in rows:
        since = max(timedelta(), at - row.last_at)
        if since >= QUIET:
            row.tries = 0
        waits = max(waits, wait_after(row.tries, each.free) - since)
    if waits > timedelta():
        return waits
    for _, row in rows:
        row.tries, row.last_at = row.tries + 1, at
        db.add(row)
    return timedelta()


def forgive(db: Writing, wholly: Sequence[Counted], once: Sequence[Counted] = ()) -> None:
    """After a right one: forget all tries of `wholly`, and this one of `once`."""
    whole, some = ({each.key for each in counted} for counted in (wholly, once))
    for row in db.exec(_held(whole | some)).all():
        if row.key_sha256 in whole:
            db.delete(row)
        else:
            row.tries = max(0, row.tries - 1)
            db.add(row)


def _row(db: Writing, of: Counted, at: datetime) -> SignInTry:
    found = _held({of.key})
    row = db.exec(found).first()
    if row is None:
        try:
            with db.begin_nested():
                db.add(SignInTry(key_sha256=of.key, tries=0, last_at=at))
        except IntegrityError:
            pass  # another service counted the first one at the same moment
        row = db.exec(found).one()
    return row


def _held(keys: set[str]) -> SelectOfScalar[SignInTry]:
    """Rows held in one order by all, and read as they are then: others may have counted meanwhile."""
    found = select(SignInTry).where(col(SignInTry.key_sha256).in_(keys)).order_by(col(SignInTry.key_sha256))
    return found.with_for_update().execution_options(populate_existing=True)
