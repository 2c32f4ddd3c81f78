"""A disk that fills up while people count: what is refused is told, what was typed is kept, reading goes on.

    python -m tests.faults.disk_full --rounds 20

The disk is filled in two ways: by a limit on the size of a file, which the system lays on the running service, and,
where a small file system may be mounted, by a real one.
"""

import argparse
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import httpx2
from sqlmodel import select

from service.records.db import open_database, sqlite_url
from service.records.tables import Client, Step, Tally
from service.studio.proofs import prove
from tests.faults.forking import free_port, starting
from tests.faults.kill_loop import a_studio_to_count_in, signed_in_at
from tests.faults.sync_order import a_tally

SMALL_MB = 6
NAME = "Hester Vane of the full disk"
Held = Callable[[], None]


@dataclass(frozen=True)
class Figures:
    """What a run came to."""

    way: str
    answered: int
    missing: int
    refused: tuple[int, ...]
    read: tuple[int, ...]
    kept_what_was_typed: bool
    back_after_s: float
    faults: int

    @property
    def passed(self) -> bool:
        """Whether everything is as it should be."""
        return (
            (self.missing, self.faults, self.kept_what_was_typed) == (0, 0, True)
            and set(self.refused) == {507}
            and set(self.read) == {200}
            and self.answered > 0
            and self.back_after_s <= 5
        )

    def line(self) -> str:
        """The figures in one line."""
        return (
            f"disk full by {self.way}: {self.answered} acknowledged, {self.missing} missing (0), refused with "
            f"{sorted(set(self.refused))} ([507]), pages read {sorted(set(self.read))} ([200]), typed kept: "
            f"{self.kept_what_was_typed}, writes again after {self.back_after_s:.2f} s (5): "
            f"{'pass' if self.passed else 'MISS'}"
        )


def may_mount() -> bool:
    """Whether a small file system may be mounted here."""
    with tempfile.TemporaryDirectory() as folder:
        done = subprocess.run(
            ["mount", "-t", "tmpfs", "-o", "size=1m", "small", folder], capture_output=True, check=False
        )
        if done.returncode == 0:
            subprocess.run(["umount", folder], check=True)
        return done.returncode == 0


@contextmanager
def by_a_limit(folder: Path) -> Iterator[tuple[Path, Callable[[int], Held]]]:
    """No file of the service may grow beyond a little more than it is."""

    def fill(pid: int) -> Held:
        largest = max(path.stat().st_size for path in folder.iterdir())
        before = resource.prlimit(pid, resource.RLIMIT_FSIZE)
        resource.prlimit(pid, resource.RLIMIT_FSIZE, (largest + 40_000, before[1]))
        return lambda: resource.prlimit(pid, resource.RLIMIT_FSIZE, before) and None

    yield folder, fill


@contextmanager
def by_a_small_file_system(folder: Path) -> Iterator[tuple[Path, Callable[[int], Held]]]:
    """The data folder lies on a disk of a few megabytes, which something else fills."""
    subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={SMALL_MB}m", "small", str(folder)], check=True)
    data = folder / "data"
    data.mkdir()

    def fill(_pid: int) -> Held:
        ballast, room = folder / "ballast", os.statvfs(folder)
        ballast.write_bytes(b"x" * max(0, room.f_bavail * room.f_frsize - 60_000))
        return ballast.unlink

    try:
        yield data, fill
    finally:
        subprocess.run(["umount", "--lazy", str(folder)], check=True)


WAYS = {"a limit on files": by_a_limit} | ({"a small file system": by_a_small_file_system} if may_mount() else {})


def run(way: str, place: Path) -> Figures:
    """Fill the disk under a service that is counted on, look, make room, and look again."""
    with WAYS[way](place) as (folder, fill):
        secret, step_id = a_studio_to_count_in(folder)
        port = free_port()
        with (
            starting(folder) as starter,
            signed_in_at(port, secret) as http,
        ):
            pid = starter.start(port)
            a_tally(http, step_id, 0)
            make_room = fill(pid)
            answered, refused = _count_until_refused(http, step_id)
            page = _write_clients_until_refused(http)
            kept = all(
                said in page.text for said in (NAME, "two\nlines", "Send it again", "is full or cannot be written")
            )
            refused.append(page.status_code)
            read = [http.get(path).status_code for path in ("/", "/clients", "/api/standing", "/health")]
            make_room()
            took = _until_written(http, step_id, answered)
            assert _write_client(http, NAME).status_code == 303
        missing, faults = _look(folder, step_id, answered)
    return Figures(way, answered + 1, missing, tuple(refused), tuple(read), kept, took, faults)


def _count_until_refused(http: httpx2.Client, step_id: int) -> tuple[int, list[int]]:
    """How many counts were answered before the first refusal, and what each of the next three was refused with."""
    answered = 1
    while a_tally(http, step_id, answered).status_code == 200:
        answered += 1
        assert answered < 5000, "the disk does not fill"
    return answered, [a_tally(http, step_id, answered).status_code for _ in range(3)]


def _write_clients_until_refused(http: httpx2.Client) -> httpx2.Response:
    """A client takes less room than a count, so there may be some left for her."""
    for place in range(100):
        if _write_client(http, f"{place}").status_code != 303:
            return _write_client(http, NAME)
    raise AssertionError("the disk does not fill")


def _write_client(http: httpx2.Client, name: str) -> httpx2.Response:
    return http.post("/clients", data={"name": name, "notes": "two\nlines"})


def _until_written(http: httpx2.Client, step_id: int, place: int) -> float:
    began = time.monotonic()
    while a_tally(http, step_id, place).status_code != 200:
        assert time.monotonic() - began < 30, "the service does not recover"
        time.sleep(0.05)
    return time.monotonic() - began


def _look(folder: Path, step_id: int, answered: int) -> tuple[int, int]:
    database = open_database(sqlite_url(folder))
    with database.reading() as db:
        keys = set(db.exec(select(Tally.key).where(Tally.step_id == step_id)))
        missing = len({f"synced {place}" for place in range(answered + 1)} - keys)
        assert db.get_one(Step, step_id).done_tenths == 10 * len(keys)
        notes = db.exec(select(Client.notes).where(Client.name == NAME)).all()
        assert notes == ["two\nlines"], notes
        faults = len(prove(db).faults)
    database.close()
    return missing, faults


def main(arguments: Sequence[str]) -> int:
    """Fill the disk each way so many times and print a line each time."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=20)
    asked, missed = parser.parse_args(arguments), False
    for way in WAYS:
        for _ in range(asked.rounds):
            with tempfile.TemporaryDirectory() as folder:
                figures = run(way, Path(folder))
            missed |= not figures.passed
            print(figures.line(), flush=True)
    return int(missed)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
