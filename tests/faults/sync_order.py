"""Nothing is answered before it is on the disk: the system calls of a running service, in order.

    python -m tests.faults.sync_order --writes 200

Between two answers to two writes, one after the other, there must be a sync (fsync or fdatasync). Killing a process
cannot show this, because the system keeps what a dead process wrote; a power cut would not.
"""

import argparse
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import httpx2

from tests.faults.forking import CLEAN, TOP, free_port, wait_until_up
from tests.faults.kill_loop import a_studio_to_count_in, signed_in_at
from tests.photographs import photo

SYNCED = re.compile(r"\b(?:fsync|fdatasync)(?:\(\d+\)| resumed>\))\s*= 0")
ANSWERED = re.compile(r'"HTTP/1\.1 (?:2|3)\d\d ')
TRACED = "trace=fsync,fdatasync,write,writev,sendto,sendmsg"


@dataclass(frozen=True)
class Order:
    """How many writes were answered, and how many of them without a sync before."""

    answered: int
    unsynced: int

    def line(self, what: str) -> str:
        """The figures in one line."""
        return (
            f"sync before answer, {what}: {self.answered} answered, {self.unsynced} without a sync (0): "
            f"{'MISS' if self.unsynced or not self.answered else 'pass'}"
        )


def order_of(trace: Iterable[str]) -> Order:
    """Read a trace: was there a sync between each answer and the one before it?

    >>> order_of(["1 fdatasync(9) = 0", '1 sendto(7, "HTTP/1.1 200 OK"', '1 sendto(7, "HTTP/1.1 303 See Other"'])
    Order(answered=2, unsynced=1)
    """
    answered, unsynced, synced = 0, 0, False
    for line in trace:
        if SYNCED.search(line):
            synced = True
        elif ANSWERED.search(line):
            answered, unsynced, synced = answered + 1, unsynced + (not synced), False
    return Order(answered, unsynced)


def can_trace() -> bool:
    """Whether this machine has strace and lets it look."""
    strace = shutil.which("strace")
    if strace is None:
        return False
    return subprocess.run([strace, "-f", "-o", os.devnull, "true"], capture_output=True, check=False).returncode == 0


def traced(folder: Path, write: Callable[[httpx2.Client, int, int], httpx2.Response], writes: int) -> Order:
    """The order of syncs and answers while a served studio takes so many writes, one after the other."""
    secret, step_id = a_studio_to_count_in(folder)
    port, trace = free_port(), folder / "trace.txt"
    service = [sys.executable, "-m", "service.cli", "serve", "--data", str(folder), "--port", str(port)]
    process = subprocess.Popen(service, cwd=TOP, env=CLEAN, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        wait_until_up(port)
        watching = subprocess.Popen(
            ["strace", "-f", "-s", "16", "-e", TRACED, "-o", str(trace), "-p", str(process.pid)],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
        )
        assert watching.stderr is not None
        watching.stderr.readline()  # it says that it is attached
        _write_each(port, secret, step_id, write, writes)
        watching.send_signal(signal.SIGINT)
        watching.communicate(timeout=30)
    finally:
        process.kill()
        process.wait()
    return order_of(trace.read_text(encoding="utf-8", errors="replace").splitlines())


def _write_each(
    port: int, secret: str, step_id: int, write: Callable[[httpx2.Client, int, int], httpx2.Response], writes: int
) -> None:
    with signed_in_at(port, secret) as http:
        for place in range(writes):
            answer = write(http, step_id, place)
            assert answer.status_code in {200, 303}, answer.text[:300]
    time.sleep(0.1)


def a_tally(http: httpx2.Client, step_id: int, place: int) -> httpx2.Response:
    """One knot counted."""
    body = {"key": f"synced {place}", "counted": 1, "more_on_cloth": True}
    return http.post(f"/api/steps/{step_id}/tallies", json=body)


def a_client(http: httpx2.Client, _step_id: int, place: int) -> httpx2.Response:
    """A client written down on a page."""
    return http.post("/clients", data={"name": f"Hester Vane {place}"})


def a_photo(http: httpx2.Client, _step_id: int, place: int) -> httpx2.Response:
    """A photo of the first garment, another picture each time."""
    files = {"photos": ("work.jpg", photo(shade=place % 20, width=64 + place), "image/jpeg")}
    return http.post("/garments/1/photos", files=files)


def each_in_turn(http: httpx2.Client, step_id: int, place: int) -> httpx2.Response:
    """Every kind of write by turns."""
    return list(WRITES.values())[place % len(WRITES)](http, step_id, place)


WRITES: dict[str, Callable[[httpx2.Client, int, int], httpx2.Response]] = {
    "tally": a_tally,
    "page": a_client,
    "photo": a_photo,
}


def main(arguments: Sequence[str]) -> int:
    """Trace every kind of write and print its line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--writes", type=int, default=200)
    asked, missed = parser.parse_args(arguments), False
    if not can_trace():
        print("This machine has no strace that may look at a process; install it first.")
        return 2
    for what, write in WRITES.items():
        with tempfile.TemporaryDirectory() as folder:
            order = traced(Path(folder), write, asked.writes)
        missed |= order.unsynced > 0 or order.answered < asked.writes
        print(order.line(what), flush=True)
    return int(missed)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
