"""Counts that wait for the writer's turn at the same moment are kept in it together: one commit, one sync for all.

Only counts that change nothing but sums are kept so, by people who are signed in. Whatever else is asked is handed back
with nothing written, to go the long way alone, where it is kept or refused in words. Nobody is answered before the
commit. In PostgreSQL, which syncs for many at once by itself, each count is a transaction of its own, so that nobody
waits for a garment that another holds.
"""

import asyncio
import logging
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection
from sqlalchemy.exc import SQLAlchemyError

from service.errors import Refusal
from service.records.db import READERS, Database
from service.studio.log import Added, TallyAsk, add_plainly
from service.studio.plain_counts import add_in_order
from service.studio.sign_in import Browser, Caller, Found, caller_of

MOST_TOGETHER = 100
GATHER_S = 0.001  # how long those are waited for who were answered together and may count on at once
log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Asked:
    """One count as it was sent: by whose token or browser, on which step, and whose account's it must be, if any."""

    caller: Caller
    step_id: int
    ask: TallyAsk
    at: datetime
    account_id: int | None = None


@dataclass(frozen=True, slots=True)
class Counted:
    """A count that was kept, and the browser it came from, if it came from one."""

    added: Added
    browser: Browser | None


Waiting = list[tuple[Asked, asyncio.Future[Counted | None]]]


class Turns:
    """The counts that wait for the turn; one of these a database, asked from one event loop."""

    def __init__(self, database: Database) -> None:
        self._database = database
        self._together = MOST_TOGETHER if database.is_sqlite else 1
        self._at_once = 1 if database.is_sqlite else READERS
        self._threads = ThreadPoolExecutor(self._at_once, "counts")
        self._waiting: Waiting = []
        self._going = 0
        self._expected = 0
        self._gathering: asyncio.TimerHandle | None = None

    async def keep(self, asked: Asked) -> Counted | None:
        """Keep a count; None when it must go the long way."""
        loop = asyncio.get_running_loop()
        answer: asyncio.Future[Counted | None] = loop.create_future()
        self._waiting.append((asked, answer))
        if self._going < self._at_once:
            self._going += 1
            loop.call_soon(self._go, loop)  # when all are there that came in at this moment
        elif self._gathering is not None and len(self._waiting) >= self._expected:
            self._gathering.cancel()
            self._gathered(loop)
        return await answer

    def close(self) -> None:
        """Keep what is being kept, and no more."""
        self._threads.shutdown()

    def _go(self, loop: asyncio.AbstractEventLoop) -> None:
        """Turn after turn, until nobody waits."""
        now, self._waiting = self._waiting[: self._together], self._waiting[self._together :]
        if not now:
            self._going -= 1
            return
        try:
            self._threads.submit(self._turn, loop, now)
        except RuntimeError:  # closed
            self._answer(loop, now, [None] * len(now))

    def _turn(self, loop: asyncio.AbstractEventLoop, now: Waiting) -> None:
        """One turn, in its thread. When anything fails in it, nothing is kept of it and all of it goes the long way."""
        kept: list[Counted | None] = [None] * len(now)
        try:
            kept = self._keep_together([asked for asked, _ in now])
        except SQLAlchemyError as error:
            log.warning("%d counts go one by one: %s", len(now), type(error).__name__)
        except Exception:
            log.exception("%d counts go one by one", len(now))
        finally:
            loop.call_soon_threadsafe(self._answer, loop, now, kept)

    def _answer(self, loop: asyncio.AbstractEventLoop, now: Waiting, kept: Sequence[Counted | None]) -> None:
        for (_, answer), counted in zip(now, kept, strict=True):
            if not answer.done():
                answer.set_result(counted)
        self._expected = min(len(now) + len(self._waiting), self._together)
        if self._expected > 1:  # several count at once: a moment's wait saves them a sync each; one alone never waits
            self._gathering = loop.call_later(GATHER_S, self._gathered, loop)
        else:
            self._go(loop)

    def _gathered(self, loop: asyncio.AbstractEventLoop) -> None:
        self._gathering = None
        self._go(loop)

    def _keep_together(self, asked: Sequence[Asked]) -> list[Counted | None]:
        with self._database.writer.begin() as connection:
            at = max(each.at for each in asked)
            callers = {caller: caller_of(connection, caller, at) for caller in {each.caller for each in asked}}
            return [_kept(connection, each, callers[each.caller]) for each in asked]


def _kept(connection: Connection, asked: Asked, found: Found | None) -> Counted | None:
    if found is None or asked.account_id not in {None, found.person.id}:
        return None
    said = (connection, found.person, asked.step_id, asked.ask, asked.at)
    try:
        added = add_in_order(*said) or add_plainly(*said)
    except Refusal:
        return None
    return None if added is None else Counted(added, found.browser)
