"""Servers in processes of their own for the bench: started, waited for, what they cost, stopped."""

import contextlib
import http.client
import json
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

TOP = Path(__file__).resolve().parents[2]
STARTS_WITHIN_S = 600
STOPS_WITHIN_S = 30
FIRST, LAST = 0, -1  # of the processors we may use: the server's, and the load's


@dataclass(frozen=True, slots=True)
class Running:
    """A server that answers: its port, its process, how many seconds it took until it answered."""

    port: int
    pid: int
    took_s: float

    def url(self, path: str) -> str:
        """An address of it."""
        return f"http://127.0.0.1:{self.port}{path}"

    @property
    def cpu_s(self) -> float:
        """Seconds of processor that it has used."""
        told = Path(f"/proc/{self.pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
        return (int(told[11]) + int(told[12])) / os.sysconf("SC_CLK_TCK")

    @property
    def rss_mb(self) -> float:
        """Megabytes of memory that are in use."""
        return int(self._status("VmRSS")) / 1024

    @property
    def open_files(self) -> int:
        """How many files and connections it has open."""
        return len(list(Path(f"/proc/{self.pid}/fd").iterdir()))

    def _status(self, name: str) -> str:
        lines = Path(f"/proc/{self.pid}/status").read_text(encoding="ascii").splitlines()
        return next(line.split()[1] for line in lines if line.startswith(f"{name}:"))


@contextlib.contextmanager
def running(arguments: Sequence[str], port: int, path: str, surroundings: Mapping[str, str]) -> Iterator[Running]:
    """Run a Python module as a server on the first processor until the block is left."""
    began = time.perf_counter()
    keep_to(FIRST)  # which the new process takes over
    process = subprocess.Popen(
        [sys.executable, "-m", *arguments],
        cwd=TOP,
        env=surroundings,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    keep_to(LAST)
    try:
        _wait_for(port, path, process)
        yield Running(port, process.pid, time.perf_counter() - began)
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait(STOPS_WITHIN_S)


def keep_to(place: int) -> None:
    """Keep this process to one of the processors it may use, so that load and server never share one."""
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, {sorted(PROCESSORS)[place]})


PROCESSORS = os.sched_getaffinity(0) if hasattr(os, "sched_getaffinity") else {0}


def free_port() -> int:
    """A port nobody listens on."""
    with socket.create_server(("127.0.0.1", 0)) as taken:
        return int(taken.getsockname()[1])


def _wait_for(port: int, path: str, process: subprocess.Popen[bytes]) -> None:
    ends = time.monotonic() + STARTS_WITHIN_S
    while time.monotonic() < ends:
        if process.poll() is not None:
            raise RuntimeError(f"{process.args!r} ended with {process.returncode}")
        with contextlib.suppress(OSError):
            if ask(port, "GET", path)[0] == 200:
                return
        time.sleep(0.01)
    raise RuntimeError(f"{process.args!r} did not answer within {STARTS_WITHIN_S} seconds")


def ask(
    port: int, method: str, path: str, headers: Mapping[str, str] | None = None, form: str | None = None
) -> tuple[int, Mapping[str, str], bytes]:
    """One request: status, headers, body as sent."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    own = {"Origin": f"http://127.0.0.1:{port}", **(headers or {})}
    if form is not None:
        own.setdefault("Content-Type", "application/x-www-form-urlencoded")
    connection.request(method, path, form, own)
    answer = connection.getresponse()
    body = answer.read()
    connection.close()
    return answer.status, dict(answer.getheaders()), body


def surroundings(**more: str) -> dict[str, str]:
    """The environment of a server: nothing of somebody's own studio, and compiled code kept, as it is at a user's."""
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("DATABASE_URL", "STOPLINE_", "PYTHONDONT"))}
    return {**kept, **more}


def limit_arguments(studio: Path, port: int, sizes: Mapping[str, int]) -> list[str]:
    """How the limit page is started."""
    return ["tests.bench.limit_page", str(studio), str(port), json.dumps(dict(sizes))]


def service_arguments(data: Path, port: int) -> list[str]:
    """How the service is started, as anybody starts it."""
    return ["service.cli", "serve", "--data", str(data), "--port", str(port)]
