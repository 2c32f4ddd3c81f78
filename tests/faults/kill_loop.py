"""The service killed at a random moment, again and again, while people count: what was answered is there, once.

    python -m tests.faults.kill_loop --rounds 200
    python -m tests.faults.kill_loop --rounds 200 --on postgresql

Killing a process shows that nothing is acknowledged before it is committed, and that a retried key counts once. It
says nothing of a power cut, which sync_order.py is for.
"""

import argparse
import random
import sys
import tempfile
import threading
import time
from collections.abc import Sequence
from contextlib import ExitStack
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

import httpx2
from sqlmodel import select

from service.records.db import migrate, open_database, sqlite_url
from service.records.tables import Step, Tally
from service.studio.proofs import prove
from service.studio.sign_in import begin_session
from service.web.deps import PLAIN_COOKIE
from tests.building import a_garment
from tests.counting import number, person, step, work_on
from tests.databases import postgresql
from tests.faults.forking import Starter, free_port, kill, starting
from tests.serving import OWNER, open_studio

CLIENTS = 4
ACKNOWLEDGED_EACH = 60
A_MOMENT_S = 0.02
MOST_S = 300


@dataclass
class Said:
    """What the clients sent, and what was answered."""

    answered: set[str] = field(default_factory=set)
    open: set[str] = field(default_factory=set)
    retried: int = 0
    refused: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Figures:
    """What a run came to."""

    kills: int
    answered: int
    missing: int
    twice: int
    retried: int
    faults: int

    @property
    def passed(self) -> bool:
        """Whether nothing was lost or counted twice."""
        return (self.missing, self.twice, self.faults) == (0, 0, 0) and self.answered > 0

    def line(self) -> str:
        """The figures in one line."""
        return (
            f"kill loop: {self.kills} kills, {self.answered} acknowledged, {self.missing} missing (0), "
            f"{self.twice} counted twice (0), {self.retried} sent again, {self.faults} statements broken (0): "
            f"{'pass' if self.passed else 'MISS'}"
        )


def a_studio_to_count_in(folder: Path, url: str = "") -> tuple[str, int]:
    """The secret of the owner's browser, and a step of knots to count, in a new studio in this folder or database."""
    url = url or sqlite_url(folder)
    migrate(url)
    database = open_database(url)
    open_studio(database)
    with database.writing() as db:
        garment_id = number(a_garment(db, "bib"))
        work_on(db, person(db, OWNER), garment_id, lambda row: row.operation == "ladder_knot")
        step_id = number(step(db, garment_id, "ladder_knot"))
        secret = begin_session(db, person(db, OWNER).id, datetime.now(UTC))
    database.close()
    return secret, step_id


def signed_in_at(port: int, secret: str) -> httpx2.Client:
    """The owner's browser, at the service on that port."""
    base, cookies = f"http://127.0.0.1:{port}", {PLAIN_COOKIE: secret}
    return httpx2.Client(base_url=base, cookies=cookies, timeout=60, verify=False)


def run(
    folder: Path, rounds: int, chance: random.Random, *, each: int = ACKNOWLEDGED_EACH, server: str = ""
) -> Figures:
    """Kill the service so many times while it is counted on, then have everything sent again and look.

    Each time it is killed at some moment, after about so many answers. `server` is the address of a database in
    PostgreSQL; without it the records are a file in the folder.
    """
    secret, step_id = a_studio_to_count_in(folder, server)
    said, port = Said(), free_port()
    environment = {"DATABASE_URL": server} if server else {}
    with starting(folder, **environment) as starter:
        for turn in range(rounds):
            _one_round(starter, port, said, Counting(secret, step_id, turn, chance.randint(1, 2 * each)))
        pid = starter.start(port)
        _send_again(port, said, Counting(secret, step_id, rounds))
        kill(pid)
    assert said.refused == [], said.refused[:3]
    return _figures(server or sqlite_url(folder), step_id, rounds, said)


@dataclass(frozen=True)
class Counting:
    """Who counts, on what, in which round, and after how many answers the service is killed."""

    secret: str
    step_id: int
    turn: int
    answers: int = 0


def _one_round(starter: Starter, port: int, said: Said, counting: Counting) -> None:
    pid = starter.start(port)
    _send_again(port, said, counting)
    before = len(said.answered)
    over = threading.Event()
    clients = [
        threading.Thread(target=_count_until_cut, args=(port, said, counting, client, over))
        for client in range(CLIENTS)
    ]
    for client in clients:
        client.start()
    ends = time.monotonic() + MOST_S
    while len(said.answered) < before + counting.answers:
        assert time.monotonic() < ends, "the service does not answer"
        time.sleep(A_MOMENT_S / 10)
    time.sleep(A_MOMENT_S * (counting.answers % 10) / 10)
    kill(pid)
    over.set()
    for client in clients:
        client.join()


def _count_until_cut(port: int, said: Said, counting: Counting, client: int, over: threading.Event) -> None:
    with _client(port, counting) as http:
        for place in range(10_000):
            key = f"{counting.turn}-{client}-{place}"
            said.open.add(key)
            if over.is_set() or not _sent(http, said, counting, key):
                return


def _send_again(port: int, said: Said, counting: Counting) -> None:
    with _client(port, counting) as http:
        for key in sorted(said.open):
            said.retried += 1
            assert _sent(http, said, counting, key)


def _client(port: int, counting: Counting) -> httpx2.Client:
    return signed_in_at(port, counting.secret)


def _sent(http: httpx2.Client, said: Said, counting: Counting, key: str) -> bool:
    body = {"key": key, "counted": 1, "more_on_cloth": True}
    try:
        answer = http.post(f"/api/steps/{counting.step_id}/tallies", json=body)
    except httpx2.TransportError:
        return False
    if answer.status_code == 200:
        said.answered.add(key)
        said.open.discard(key)
    else:
        said.refused.append(f"{answer.status_code} {answer.text}")
    return True


def _figures(url: str, step_id: int, rounds: int, said: Said) -> Figures:
    database = open_database(url)
    with database.reading() as db:
        keys = list(db.exec(select(Tally.key).where(Tally.step_id == step_id)))
        done = db.get_one(Step, step_id).done_tenths // 10
        faults = len(prove(db).faults)
    database.close()
    missing = len(said.answered - set(keys))
    return Figures(
        rounds, len(said.answered), missing, len(keys) - len(set(keys)) + abs(done - len(keys)), said.retried, faults
    )


def main(arguments: Sequence[str]) -> int:
    """Run the loop and print its line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=200)
    parser.add_argument("--on", choices=("sqlite", "postgresql"), default="sqlite")
    asked = parser.parse_args(arguments)
    with ExitStack() as held:
        folder = Path(held.enter_context(tempfile.TemporaryDirectory()))
        server = held.enter_context(postgresql()) if asked.on == "postgresql" else ""
        figures = run(folder, asked.rounds, random.Random(), server=server)
    print(figures.line())
    return 0 if figures.passed else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
