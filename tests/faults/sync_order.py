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
from datetime import UTC, datetime
from pathlib import Path

import httpx2

from service.records.db import open_database, sqlite_url
from service.studio.promising import send
from service.studio.quotes import draw_up
from service.studio.window import make_link
from tests.building import a_garment
from tests.counting import number, person
from tests.faults.forking import CLEAN, TOP, free_port, wait_until_up
from tests.faults.kill_loop import a_studio_to_count_in, signed_in_at
from tests.photographs import photo
from tests.quoting import charge, foresight
from tests.serving import OWNER

SYNCED = re.compile(r"\b(?:fsync|fdatasync)(?:\(\d+\)| resumed>\))\s*= 0")
ANSWERED = re.compile(r'"HTTP/1\.1 (?:2|3)\d\d ')
TRACED = "trace=fsync,fdatasync,write,writev,sendto,sendmsg"


@dataclass(frozen=True)
class Order:
    """How many writes were answered, how many of them after too few syncs, and how many syncs there were at least."""

    answered: int
    unsynced: int
    least: int = 0

    def line(self, what: str) -> str:
        """The figures in one line."""
        return (
            f"sync before answer, {what}: {self.answered} answered, {self.unsynced} without a sync (0), "
            f"{self.least} syncs at least: {'MISS' if self.unsynced or not self.answered else 'pass'}"
        )


def order_of(trace: Iterable[str], needed: int = 1) -> Order:
    """Read a trace: were there as many syncs as are needed between each answer and the one before it?

    >>> order_of(["1 fdatasync(9) = 0", '1 sendto(7, "HTTP/1.1 200 OK"', '1 sendto(7, "HTTP/1.1 303 See Other"'])
    Order(answered=2, unsynced=1, least=0)
    """
    before: list[int] = []
    synced = 0
    for line in trace:
        if SYNCED.search(line):
            synced += 1
        elif ANSWERED.search(line):
            before.append(synced)
            synced = 0
    return Order(len(before), sum(syncs < needed for syncs in before), min(before, default=0))


def can_trace() -> bool:
    """Whether this machine has strace and lets it look."""
    strace = shutil.which("strace")
    if strace is None:
        return False
    return subprocess.run([strace, "-f", "-o", os.devnull, "true"], capture_output=True, check=False).returncode == 0


@dataclass(frozen=True)
class Ready:
    """A studio that waits to be written in: what is counted on, and what each client may accept by her link."""

    port: int
    secret: str
    step_id: int
    sent: tuple[tuple[str, int, dict[str, str]], ...]


def made_ready(folder: Path, port: int, quotes: int) -> Ready:
    """A new studio with a step to count on and so many quotes that were sent."""
    secret, step_id = a_studio_to_count_in(folder)
    database, sent, now = open_database(sqlite_url(folder)), [], datetime.now(UTC)
    for _ in range(quotes):
        with database.writing() as db:
            charge(db)
            owner, foreseen = person(db, OWNER), foresight()
            quote = draw_up(db, a_garment(db, "bib").commission_id, foreseen, owner, now)
            send(db, number(quote), quote.version, owner, now)
            link = make_link(db, owner, quote.commission_id, ("Hester", 30), now)
            yes = {"name": "Hester Vane", "version": f"{quote.version}", "total": f"{quote.total_minor}", "read": "yes"}
            sent.append((link, number(quote), yes))
    database.close()
    return Ready(port, secret, step_id, tuple(sent))


Write = Callable[[httpx2.Client, Ready, int], httpx2.Response]


def traced(folder: Path, write: Write, writes: int, quotes: int = 0, needed: int = 1) -> Order:
    """The order of syncs and answers while a served studio takes so many writes, one after the other."""
    port, trace = free_port(), folder / "trace.txt"
    ready = made_ready(folder, port, quotes)
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
        _write_each(ready, write, writes)
        watching.send_signal(signal.SIGINT)
        watching.communicate(timeout=30)
    finally:
        process.kill()
        process.wait()
    return order_of(trace.read_text(encoding="utf-8", errors="replace").splitlines(), needed)


def _write_each(ready: Ready, write: Write, writes: int) -> None:
    with signed_in_at(ready.port, ready.secret) as http:
        for place in range(writes):
            answer = write(http, ready, place)
            assert answer.status_code in {200, 303}, answer.text[:300]
    time.sleep(0.1)


def a_tally(http: httpx2.Client, step_id: int, place: int) -> httpx2.Response:
    """One knot counted."""
    body = {"key": f"synced {place}", "counted": 1, "more_on_cloth": True}
    return http.post(f"/api/steps/{step_id}/tallies", json=body)


def a_client(http: httpx2.Client, _ready: Ready, place: int) -> httpx2.Response:
    """A client written down on a page."""
    return http.post("/clients", data={"name": f"Hester Vane {place}"})


def a_photo(http: httpx2.Client, _ready: Ready, place: int) -> httpx2.Response:
    """A photo of the first garment, another picture each time."""
    files = {"photos": ("work.jpg", photo(shade=place % 20, width=64 + place), "image/jpeg")}
    return http.post("/garments/1/photos", files=files)


def an_acceptance(_http: httpx2.Client, ready: Ready, place: int) -> httpx2.Response:
    """The next client opens her link, which is written down, and says yes, from an address of her own: one has few tries."""
    link, quote_id, yes = ready.sent[place % len(ready.sent)]
    url, own = f"http://127.0.0.1:{ready.port}", httpx2.HTTPTransport(local_address=f"127.0.0.{2 + place % 250}")
    with httpx2.Client(base_url=url, headers={"Origin": url}, timeout=60, transport=own) as her:
        her.post(f"/window/in/{link}")
        return her.post(f"/window/quotes/{quote_id}/accept", data=yes)


def each_in_turn(http: httpx2.Client, ready: Ready, place: int) -> httpx2.Response:
    """Every kind of write by turns."""
    return list(WRITES.values())[place % len(WRITES)](http, ready, place // len(WRITES))


WRITES: dict[str, Write] = {
    "tally": lambda http, ready, place: a_tally(http, ready.step_id, place),
    "page": a_client,
    "photo": a_photo,
    "acceptance of a quote": an_acceptance,
}


SYNCS = {"photo": 2}
"""A photo's files are synced before its row is."""


def run(what: str, writes: int) -> Order:
    """The order of so many writes of that kind."""
    with tempfile.TemporaryDirectory() as folder:
        quotes = writes if WRITES[what] is an_acceptance else 0
        return traced(Path(folder), WRITES[what], writes, quotes, SYNCS.get(what, 1))


def main(arguments: Sequence[str]) -> int:
    """Trace every kind of write and print its line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--writes", type=int, default=200)
    asked, missed = parser.parse_args(arguments), False
    if not can_trace():
        print("This machine has no strace that may look at a process; install it first.")
        return 2
    for what in WRITES:
        order = run(what, asked.writes)
        missed |= order.unsynced > 0 or order.answered < asked.writes
        print(order.line(what), flush=True)
    return int(missed)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
