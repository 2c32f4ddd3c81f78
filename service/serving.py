"""Running the service: one process, one data folder, one line a request, an orderly stop."""

import contextlib
import ctypes
import logging
import secrets
import socket
import sys
import threading
from contextlib import ExitStack
from datetime import UTC, datetime

import uvicorn
from fastapi import FastAPI
from sqlmodel import select

from service.app import create_app
from service.errors import Conflict
from service.records.db import Database, migrate, open_database
from service.records.durable import forgetful, told
from service.records.folder import owned
from service.records.photo_store import open_store
from service.records.snapshot import earlier_revision, is_newest
from service.records.tables import Studio
from service.settings import Settings
from service.studio.backup import back_up
from service.studio.backup_rounds import FOLDER_NAME, BackupPlan, Rounds
from service.studio.photos import sweep

STOP_WITHIN_S = 10
MALLOC_ARENA_MAX, HEAPS = -8, 2


def start_logging() -> None:
    """One line an event on standard error, without names, contents or addresses of people."""
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(message)s", "%Y-%m-%dT%H:%M:%S%z"))
    logging.basicConfig(level=logging.INFO, handlers=[handler], force=True)
    for loud in ("alembic", "uvicorn.error", "PIL"):
        logging.getLogger(loud).setLevel(logging.WARNING)


def ready_database(settings: Settings) -> Database:
    """The database with all its tables, made or brought up to date first."""
    if not settings.database_url:
        _keep_earlier(settings)
    if settings.database_url or not is_newest(settings.data / "studio.sqlite"):
        migrate(settings.url)
    database = open_database(settings.url)
    for setting in forgetful(database):
        if setting.startswith("synchronous"):
            database.close()
            raise Conflict(f"{told(setting)} Nothing is served before.")
        logging.getLogger(__name__).warning(told(setting))
    return database


def _keep_earlier(settings: Settings) -> None:
    """Before the tables of an earlier release are changed, back them up under a name that nothing removes."""
    earlier = earlier_revision(settings.data / "studio.sqlite")
    if not earlier:
        return
    folder, at = settings.data / FOLDER_NAME, datetime.now(UTC)
    folder.mkdir(exist_ok=True)
    database = open_database(settings.url)
    store = open_store(settings.photos, settings.data)
    try:
        back_up(database, store, folder / f"of-release-{earlier}-{at:%Y%m%dT%H%M%SZ}.zip", at)
    finally:
        database.close()


def serve(settings: Settings, host: str, port: int, *, quiet: bool = False) -> None:
    """Serve the studio until asked to stop. The data folder must not be in use."""
    with ExitStack() as held:
        if not settings.database_url:
            held.enter_context(owned(settings.data))
        run(ready_database(settings), settings, host, port, quiet=quiet)


def run(database: Database, settings: Settings, host: str, port: int, *, quiet: bool = False) -> None:
    """Serve from an open database whose folder is already owned."""
    start_logging()
    _spare_memory()
    taken = listen(host, port)
    code = first_run_code(database)
    store = open_store(settings.photos, settings.data)
    sweep(database, store, datetime.now(UTC))
    hosts = (host, *settings.extra_hosts)
    app = create_app(
        database, photos=store, folder=settings.data, hosts=hosts, https=settings.https, first_run_code=code
    )
    app.state.backups = rounds = Rounds(database, store, plan_of(settings), lambda: datetime.now(UTC))
    shown = f"[{host}]" if ":" in host else host
    if not quiet:
        print(f"Stopline is at http://{shown}:{port}  (stop it with Ctrl-C)", flush=True)  # noqa: T201
    if code:
        print(f"The studio is still empty. From another machine the first page asks for this code: {code}", flush=True)  # noqa: T201
    stopping = threading.Event()
    thread = rounds.start(stopping.wait)
    try:
        uvicorn.Server(server_settings(app, host, port, settings.proxy)).run(sockets=[taken])
    finally:
        stopping.set()
        thread.join(STOP_WITHIN_S)


def _spare_memory() -> None:
    """Let the C library keep two heaps: with one a thread, each would hold on to what its largest page once took."""
    if sys.platform == "linux":
        with contextlib.suppress(AttributeError):  # another C library than that of GNU
            ctypes.CDLL(None).mallopt(MALLOC_ARENA_MAX, HEAPS)


def plan_of(settings: Settings) -> BackupPlan:
    """Where the service keeps its own backups, and how many."""
    folder = settings.data / FOLDER_NAME
    return BackupPlan(folder, settings.backup_hours, settings.backup_days, settings.backup_weeks)


def listen(host: str, port: int) -> socket.socket:
    """A socket listening there, or one sentence why it cannot."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    try:
        return socket.create_server((host, port), family=family)
    except OSError as error:
        raise Conflict(f"{host} cannot be listened on at {port}: {error.strerror}. Name another with --port.") from None


def server_settings(app: FastAPI, host: str, port: int, proxy: str = "") -> uvicorn.Config:
    """How the server runs: no log of its own, no word of itself, no forwarded header believed but from that proxy."""
    return uvicorn.Config(
        app,
        host=host,
        port=port,
        access_log=False,
        log_config=None,
        proxy_headers=bool(proxy),
        forwarded_allow_ips=proxy,
        server_header=False,
        ws="none",
        timeout_graceful_shutdown=STOP_WITHIN_S,
    )


def first_run_code(database: Database) -> str:
    """A fresh one-time code while the studio has no owner, else nothing."""
    with database.reading() as db:
        empty = db.exec(select(Studio)).first() is None
    return secrets.token_hex(4) if empty else ""
