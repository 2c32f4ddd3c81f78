"""A real service of its own process that starts in a moment, so that it can be killed often.

A parent process loads the program and reads its routes once, and forks itself for every start; the child owns the
folder, opens the database and serves, as `serve` does.
"""

import gc
import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fastapi import FastAPI

    from service.records.db import Database

TOP = Path(__file__).resolve().parents[2]
CLEAN = {name: value for name, value in os.environ.items() if not name.startswith(("STOPLINE_", "DATABASE_URL"))}


def free_port() -> int:
    """A port that nobody listens on just now."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return int(free.getsockname()[1])


def is_up(port: int) -> bool:
    """Whether the service there answers."""
    try:
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/health", timeout=10) as answer:
            return bool(answer.status == 200)
    except OSError:
        return False


def wait_until_up(port: int, seconds: float = 300) -> None:
    """Wait for the service there."""
    ends = time.monotonic() + seconds
    while not is_up(port):
        assert time.monotonic() < ends, "the service does not answer"
        time.sleep(0.01)


def kill(number: int) -> None:
    """Kill a service at once, and wait until the system has taken back what it held."""
    os.kill(number, signal.SIGKILL)
    with suppress(ProcessLookupError):
        while True:
            os.kill(number, 0)
            time.sleep(0.01)


@dataclass
class Starter:
    """The parent process."""

    parent: subprocess.Popen[str]
    folder: Path

    def start(self, port: int) -> int:
        """Start the service and wait until it answers; gives its process number."""
        assert self.parent.stdin is not None
        assert self.parent.stdout is not None
        self.parent.stdin.write(f"{port} {self.folder}\n")
        self.parent.stdin.flush()
        number = int(self.parent.stdout.readline())
        wait_until_up(port)
        return number


@contextmanager
def starting(folder: Path, **environment: str) -> Iterator[Starter]:
    """A parent process for services on this folder; whatever still runs at the end is ended."""
    parent = subprocess.Popen(
        [sys.executable, "-m", "tests.faults.forking"],
        cwd=TOP,
        env=CLEAN | environment,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        start_new_session=True,
    )
    try:
        yield Starter(parent, folder)
    finally:
        os.killpg(parent.pid, signal.SIGKILL)
        parent.communicate()


def _with_its_routes_read() -> Callable[..., "FastAPI"]:
    """What makes the service, on routes that are read already: reading them takes longer than all else at a start."""
    from service.app import create_app
    from service.records.db import open_database
    from service.serving import server_settings
    from service.web.render import environment

    nobody = open_database("sqlite:///none.sqlite")
    ready = create_app(nobody)
    nowhere = {"type": "http", "method": "GET", "path": "/.", "root_path": "", "headers": []}
    for route in ready.router.routes:
        route.matches(nowhere)
    environment()
    server_settings(ready, "127.0.0.1", 0).load()
    import_module("anyio._backends._asyncio")  # which the first request would load
    nobody.close()
    gc.freeze()

    def on_read_routes(database: "Database", **said: Any) -> "FastAPI":
        ready.state = create_app(database, **said).state
        return ready

    return on_read_routes


def _serve_each() -> None:
    """Fork a service for every line of standard input: its port and its data folder."""
    from service import loading, serving
    from service.settings import read_settings

    vars(loading)["create_app"] = _with_its_routes_read()
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # the killed are buried at once
    for line in sys.stdin:
        port, folder = line.rstrip("\n").split(" ", 1)
        child = os.fork()
        if child == 0:
            serving.serve(replace(read_settings(), data=Path(folder)), "127.0.0.1", int(port), quiet=True)
            os._exit(0)
        print(child, flush=True)


if __name__ == "__main__":
    _serve_each()
