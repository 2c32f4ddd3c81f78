"""Many people counting at once: every key counts once however often it is sent, and every count is in the sum.

    python -m tests.faults.many_at_once --clients 16 --each 100

Each key goes five times at once, to one service or by turns to two, then again after a kill, and again to a service on
a backup that was put back; a key with another body is refused.
"""

import argparse
import itertools
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import httpx2
from sqlmodel import select

from service.records.db import open_database, sqlite_url
from service.records.photo_store import open_store
from service.records.tables import Step, Tally
from service.studio.backup import back_up
from service.studio.proofs import prove
from service.studio.restoring import restore
from tests.databases import make_database, postgresql
from tests.faults.forking import free_port, kill, starting
from tests.faults.kill_loop import a_studio_to_count_in, signed_in_at
from tests.photographs import photo

TIMES = 5


@dataclass(frozen=True)
class Place:
    """Where the services of a run find their studio, and how many there are; no address is a file in the folder."""

    folder: Path
    services: int = 1
    url: str = ""
    url_of_backup: str = ""

    def at(self, name: str, url: str) -> tuple[Path, str]:
        """A folder of that name and the studio's address."""
        folder = self.folder / name
        folder.mkdir()
        return folder, url or sqlite_url(folder)


@dataclass(frozen=True)
class Figures:
    """What a run came to."""

    what: str
    wanted: int
    found: int
    summed: int
    odd: tuple[str, ...]
    faults: int
    slowest_s: float = 0.0

    @property
    def passed(self) -> bool:
        """Whether each counted once, and nothing was answered otherwise than it must."""
        return self.wanted == self.found == self.summed and not self.odd and not self.faults

    def line(self) -> str:
        """The figures in one line."""
        slowest = f", 99 of 100 within {self.slowest_s * 1000:.0f} ms" if self.slowest_s else ""
        return (
            f"{self.what}: {self.wanted} counts, {self.found} in the book, sum {self.summed}, odd answers "
            f"{len(self.odd)} (0){slowest}: {'pass' if self.passed else 'MISS'}"
        )


Asked = tuple[str, int]
"""A key, and how much is counted under it."""


def sent_by(
    browsers: Sequence[httpx2.Client], step_id: int, asked: Sequence[Asked], clients: int
) -> list[httpx2.Response]:
    """The answers to counts that so many clients send at once, by turns to each service."""

    def send(one: tuple[int, Asked]) -> httpx2.Response:
        place, (key, counted) = one
        body = {"key": key, "counted": counted, "more_on_cloth": True}
        return browsers[place % len(browsers)].post(f"/api/steps/{step_id}/tallies", json=body)

    with ThreadPoolExecutor(clients) as pool:
        return list(pool.map(send, enumerate(asked)))


def odd_of(answers: Sequence[httpx2.Response], wanted: frozenset[int]) -> Iterator[str]:
    """What was answered otherwise than it must."""
    return (f"{answer.status_code} {answer.text[:200]}" for answer in answers if answer.status_code not in wanted)


@contextmanager
def served(
    folder: Path, url: str, services: int, secret: str
) -> Iterator[tuple[list[httpx2.Client], Callable[[], None]]]:
    """So many services on one studio: the owner's browser at each, and what kills the first and starts it again."""
    ports = [free_port() for _ in range(services)]
    environment = {} if url.startswith("sqlite") else {"DATABASE_URL": url}
    with starting(folder, **environment) as starter, ExitStack() as held:
        running = [starter.start(port) for port in ports]

        def kill_and_start() -> None:
            kill(running[0])
            running[0] = starter.start(ports[0])

        yield [held.enter_context(signed_in_at(port, secret)) for port in ports], kill_and_start


def storm(place: Place, clients: int, each: int) -> Figures:
    """So many clients count so often each on one step, all at once."""
    folder, url = place.at("storm", place.url)
    secret, step_id = a_studio_to_count_in(folder, url)
    took: list[float] = []
    with served(folder, url, place.services, secret) as (browsers, _):

        def count(client: int) -> list[httpx2.Response]:
            answers = []
            for turn in range(each):
                began = time.monotonic()
                answers += sent_by(browsers[client % len(browsers) :], step_id, [(f"{client}-{turn}", 1)], 1)
                took.append(time.monotonic() - began)
            return answers

        with ThreadPoolExecutor(clients) as pool:
            answers = list(itertools.chain(*pool.map(count, range(clients))))
    odd = tuple(odd_of(answers, frozenset({200})))
    slowest = sorted(took)[len(took) * 99 // 100]
    return _figures(f"{clients} clients at once, {place.services} services", url, step_id, clients * each, odd, slowest)


def keys(place: Place, clients: int, each: int) -> Figures:
    """Every key five times at once, again after a kill, again where a backup was put back, and with another body."""
    folder, url = place.at("keys", place.url)
    secret, step_id = a_studio_to_count_in(folder, url)
    every = [(f"{client}-{key}", 1) for client in range(clients) for key in range(each)]
    early, late = every[: len(every) // 2], every[len(every) // 2 :]
    answers, refused = [], []
    backup = place.folder / "studio.zip"
    with served(folder, url, place.services, secret) as (browsers, kill_and_start):
        answers += sent_by(browsers, step_id, [one for one in early for _ in range(TIMES)], clients)
        _share_photos(browsers)
        _back_up(folder, url, backup)
        answers += sent_by(browsers, step_id, [one for one in late for _ in range(TIMES)], clients)
        kill_and_start()
        answers += sent_by(browsers, step_id, every, clients)
        refused += sent_by(browsers, step_id, [(key, 2) for key, _ in every], clients)
    first = _figures("", url, step_id, len(every), (), 0)
    there, new = place.at("put back", place.url_of_backup)
    restore(backup, new, there, open_store("", there))
    with served(there, new, place.services, secret) as (browsers, _):
        answers += sent_by(browsers, step_id, every, clients)
        refused += sent_by(browsers, step_id, [(key, 2) for key, _ in every], clients)
    odd = (*odd_of(answers, frozenset({200})), *odd_of(refused, frozenset({409, 422})))
    what = f"every key {TIMES} times at once to {place.services} services, after a kill, after a backup"
    last = _figures(what, new, step_id, len(every), odd, 0)
    assert first.passed, first.line()
    return last


def _back_up(folder: Path, url: str, backup: Path) -> None:
    database = open_database(url, guest=url.startswith("sqlite"))
    back_up(database, open_store("", folder), backup, datetime.now(UTC))
    database.close()


def _share_photos(browsers: Sequence[httpx2.Client]) -> None:
    """A photo sent to the first service is seen at the last."""
    files = {"photos": ("work.jpg", photo(shade=3), "image/jpeg")}
    sent = browsers[0].post("/garments/1/photos", files=files)
    assert sent.status_code == 303, sent.text
    assert browsers[-1].get("/photos/1/small").headers["content-type"] == "image/jpeg"


def _figures(what: str, url: str, step_id: int, wanted: int, odd: tuple[str, ...], slowest_s: float) -> Figures:
    database = open_database(url)
    with database.reading() as db:
        found = list(db.exec(select(Tally.key).where(Tally.step_id == step_id)))
        summed = db.get_one(Step, step_id).done_tenths // 10
        faults = len(prove(db).faults)
    database.close()
    assert len(found) == len(set(found))
    return Figures(what, wanted, len(found), summed, odd, faults, slowest_s)


def main(arguments: Sequence[str]) -> int:
    """Count at once on one service and on two, and print a line each time."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--clients", type=int, default=16)
    parser.add_argument("--each", type=int, default=100)
    asked, missed = parser.parse_args(arguments), False
    with postgresql() as server, tempfile.TemporaryDirectory() as folder:
        for does in (storm, keys):
            urls = [make_database(server, f"{does.__name__}{number}") for number in range(2)]
            for place in (Place(Path(folder) / "one"), Place(Path(folder) / "two", 2, *urls)):
                place.folder.mkdir(exist_ok=True)
                figures = does(place, asked.clients, asked.each)
                missed |= not figures.passed
                print(figures.line(), flush=True)
    return int(missed)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
