"""Running the service: one process, one data folder, one line a request, an orderly stop."""

import ctypes
import logging
import socket
import sys
import threading
from collections.abc import Callable
from contextlib import ExitStack
from typing import TYPE_CHECKING, Any

import uvicorn

from service.errors import Conflict
from service.first_page import FirstPage, kept_page
from service.porch import Porch
from service.records.folder import owned
from service.settings import Settings

if TYPE_CHECKING:
    from service.porch import Service
    from service.records.db import Database

STOP_WITHIN_S = 10
GIVES_BACK_EVERY_S = 60
MALLOC_ARENA_MAX, HEAPS = -8, 1
MALLOC_MMAP_THRESHOLD, GIVEN_BACK_FROM_BYTES = -3, 131_072


def start_logging() -> None:
    """One line an event on standard error, without names, contents or addresses of people."""
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(message)s", "%Y-%m-%dT%H:%M:%S%z"))
    logging.basicConfig(level=logging.INFO, handlers=[handler], force=True)
    # of threads and processes, of which no line tells, nothing is looked up for each line
    logging.logThreads = logging.logProcesses = logging.logMultiprocessing = False
    for loud in ("alembic", "uvicorn.error", "PIL"):
        logging.getLogger(loud).setLevel(logging.WARNING)


def serve(settings: Settings, host: str, port: int, *, quiet: bool = False) -> None:
    """Serve the studio until asked to stop. The data folder must not be in use."""
    with ExitStack() as held:
        page = None
        if not settings.database_url:
            held.enter_context(owned(settings.data))
            page = kept_page(settings.data)
        run(None if page else _ready(settings), settings, host, port, page=page, quiet=quiet)


def _ready(settings: Settings) -> "Database":
    from service.loading import ready_database

    return ready_database(settings)


def run(
    database: "Database | None",
    settings: Settings,
    host: str,
    port: int,
    *,
    page: FirstPage | None = None,
    quiet: bool = False,
) -> None:
    """Serve from a folder that is owned already; the database is opened while the service loads, unless it is open."""
    start_logging()
    library = _spare_memory()
    taken = listen(host, port)
    if not quiet:
        shown = f"[{host}]" if ":" in host else host
        print(f"Stopline is at http://{shown}:{port}  (stop it with Ctrl-C)", flush=True)  # noqa: T201
    stopping, beside = threading.Event(), ExitStack()
    if library is not None:
        threading.Thread(target=_give_back, args=(library, stopping.wait), name="memory", daemon=True).start()

    def load() -> "Service":
        from service.loading import load

        return load(database or _ready(settings), settings, host, stopping.wait, beside)

    hosts = (host, *settings.extra_hosts)
    folder = None if settings.database_url else settings.data
    porch = Porch(load, page, folder=folder, hosts=hosts, https=settings.https)
    server = uvicorn.Server(server_settings(porch, host, port, settings.proxy))
    porch.stop = lambda: setattr(server, "should_exit", True)
    try:
        server.run(sockets=[taken])
    finally:
        stopping.set()
        beside.close()
    if porch.fault is not None:
        raise porch.fault


def _spare_memory() -> ctypes.CDLL | None:
    """Let the C library keep one heap: with one a thread, each would hold on to what its largest page once took.

    What is large is given back as soon as it is free; by itself the library keeps ever larger pieces.
    """
    library = ctypes.CDLL(None) if sys.platform == "linux" else None
    if library is None or not hasattr(library, "mallopt") or not hasattr(library, "malloc_trim"):
        return None  # another C library than that of GNU
    library.mallopt(MALLOC_ARENA_MAX, HEAPS)
    library.mallopt(MALLOC_MMAP_THRESHOLD, GIVEN_BACK_FROM_BYTES)
    return library


def _give_back(library: ctypes.CDLL, wait: Callable[[float], bool]) -> None:
    """Every minute, until `wait` says that the service stops: what lies free between what is in use goes back too."""
    while not wait(GIVES_BACK_EVERY_S):
        library.malloc_trim(0)


def listen(host: str, port: int) -> socket.socket:
    """A socket listening there, or one sentence why it cannot."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    try:
        return socket.create_server((host, port), family=family)
    except OSError as error:
        raise Conflict(f"{host} cannot be listened on at {port}: {error.strerror}. Name another with --port.") from None


def server_settings(app: Any, host: str, port: int, proxy: str = "") -> uvicorn.Config:
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
