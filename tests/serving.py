"""A real server on a real port for tests, and people who sign in to it."""

import asyncio
import contextlib
import itertools
import socket
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime

import httpx2
import uvicorn
from fastapi import FastAPI
from sqlmodel import select

from service.app import create_app
from service.records.db import Database
from service.records.tables import Account, Studio
from service.serving import server_settings
from service.studio.people import add_account_for
from service.studio.sign_in import NewOwner, begin_session, make_first_owner
from service.web.deps import PLAIN_COOKIE

PASSWORD = "seven linen threads"
OWNER = "owner@studio.example"
STITCHER = "stitcher@studio.example"
SECOND = "second@studio.example"
START = datetime(2026, 9, 1, 9, 0, tzinfo=UTC)


@dataclass(frozen=True)
class Live:
    """A running service: its address, its database and its parts."""

    url: str
    database: Database
    app: FastAPI | None = None

    def visitor(self) -> httpx2.Client:
        """A browser-like client that nobody has signed in with; it follows no redirect by itself."""
        # Nothing here is encrypted, and reading all certificates of the world takes as long as a test does.
        return httpx2.Client(base_url=self.url, headers={"Origin": self.url}, timeout=30, verify=False)

    def signed_in(self, email: str) -> httpx2.Client:
        """A client of somebody signed in; the sign-in page itself has tests of its own, as its hashing is slow."""
        with self.database.writing() as db:
            account = db.exec(select(Account).where(Account.email == email)).one()
            assert account.id is not None
            secret = begin_session(db, account.id, datetime.now(UTC))
        client = self.visitor()
        client.cookies.set(PLAIN_COOKIE, secret)
        return client


class Prompt(uvicorn.Server):
    """The server without its rests of a tenth of a second: it is started and stopped for nearly every test."""

    async def main_loop(self) -> None:
        for tick in itertools.count():
            if await self.on_tick(tick):
                return
            await asyncio.sleep(0.01)

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        for listening in (*self.servers, *(sockets or ())):
            listening.close()
        for connection in list(self.server_state.connections):
            connection.shutdown()
        await asyncio.sleep(0.005)
        await self._wait_tasks_to_complete()
        await self.lifespan.shutdown()


@dataclass
class Routes:
    """The routes of a service, read once for all tests: reading them takes longer than most tests do."""

    app: FastAPI | None = None
    free: threading.Lock = field(default_factory=threading.Lock)

    @contextlib.contextmanager
    def on(self, fresh: FastAPI) -> Iterator[FastAPI]:
        """The service that `fresh` is, on routes that are read already; itself while another one has them."""
        if not self.free.acquire(blocking=False):
            yield fresh
            return
        try:
            self.app = self.app or fresh
            self.app.state = fresh.state
            yield self.app
        finally:
            self.free.release()


ROUTES = Routes()


@contextlib.contextmanager
def serving(database: Database, first_run_code: str = "", port: int = 0, proxy: str = "") -> Iterator[Live]:
    """Serve this database on that port, or on a free one, while the block runs; `proxy` is believed."""
    with ROUTES.on(create_app(database, first_run_code=first_run_code)) as app:
        server = Prompt(server_settings(app, "127.0.0.1", port, proxy))
        thread = threading.Thread(target=server.run, daemon=True)
        thread.start()
        while not server.started:
            assert thread.is_alive()
            time.sleep(0.005)
        port = server.servers[0].sockets[0].getsockname()[1]
        yield Live(f"http://127.0.0.1:{port}", database, app)
        server.should_exit = True
        thread.join(timeout=20)


def open_studio(database: Database) -> None:
    """An opened but empty studio: the owner and two stitchers, who may sign in, and nothing else."""
    with database.writing() as db:
        studio = Studio(name="Larkfield Whitework", currency="GBP", created_at=START)
        make_first_owner(db, studio, NewOwner("Ottilie Brook", OWNER, PASSWORD), START)
        add_account_for(db, STITCHER, "Wren Hallam", "stitcher", PASSWORD, START)
        add_account_for(db, SECOND, "Ida Thorne", "stitcher", PASSWORD, START)
