"""Every promise of promises.toml with the figure to reach and what was found, in one table.

    python -m tests.faults              # a few minutes: each fault a few times
    python -m tests.faults --long       # hours: the full figures, and the named tests too
    python -m tests.faults --json FILE  # the same as JSON

What is shown by tests or by a command of its own is named; a row that is not shown says why.
"""

import argparse
import json
import os
import random
import subprocess
import sys
import tempfile
import time
import tomllib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from tests.databases import make_database, postgresql
from tests.faults import backups, disk_full, half_uploads, kill_loop, many_at_once, state_machine, sync_order

HERE = Path(__file__).resolve().parent
TOP = HERE.parents[1]
KILLS, ACKNOWLEDGED = 200, 10_000


@dataclass(frozen=True)
class Sizes:
    """How much of everything is done."""

    kills: int = 10
    acknowledged_each: int = 10
    writes: int = 8
    disks: int = 1
    uploads: int = 9
    clients: int = 16
    counts_each: int = 5
    keys_each: int = 2
    runs: int = 10
    steps: int = 30


LONG = Sizes(KILLS, 60, 200, 20, 500, 16, 100, 63, 2000, 50)


@dataclass(frozen=True)
class Found:
    """What a measurement said, and whether it is as it must be."""

    line: str
    passed: bool


@dataclass
class Row:
    """A promise with what was found of it."""

    number: int
    says: str
    reach: str
    found: list[str] = field(default_factory=list)
    verdict: str = "see there"


class Measuring:
    """Each measurement once, in a folder and on a PostgreSQL of its own."""

    def __init__(self, folder: Path, server: str, sizes: Sizes) -> None:
        self.folder, self.server, self.sizes = folder, server, sizes
        self.done: dict[str, list[Found]] = {}

    def of(self, name: str) -> list[Found]:
        """What that measurement gives."""
        if name not in self.done:
            does: Callable[[], Iterator[Found]] = getattr(self, name)
            found: list[Found] = []
            self.done[name] = found
            try:
                found += does()
            except AssertionError as broken:
                found.append(Found(f"{name}: {broken}", passed=False))
        return self.done[name]

    def place(self, name: str) -> Path:
        """A new folder."""
        place = self.folder / name
        place.mkdir()
        return place

    def kills(self) -> Iterator[Found]:
        """The kill loop on each kind of database."""
        sizes = self.sizes
        for kind, url in (("sqlite", ""), ("postgresql", make_database(self.server, "kills"))):
            folder = self.place(f"kills {kind}")
            figures = kill_loop.run(folder, sizes.kills, random.Random(), each=sizes.acknowledged_each, server=url)
            enough = sizes.kills < KILLS or figures.answered >= ACKNOWLEDGED
            yield Found(f"{kind}: {figures.line()}", figures.passed and enough)

    def syncs(self) -> Iterator[Found]:
        """The system calls of every kind of write."""
        if not sync_order.can_trace():
            yield Found("this machine has no strace that may look at a process", passed=False)
            return
        for what in sync_order.WRITES:
            order = sync_order.run(what, self.sizes.writes)
            yield Found(order.line(what), order.unsynced == 0 and order.answered >= self.sizes.writes)

    def _many(self, does: Callable[[many_at_once.Place, int, int], many_at_once.Figures], each: int) -> Iterator[Found]:
        name = does.__name__
        urls = [make_database(self.server, f"{name}{number}") for number in range(2)]
        for place in (
            many_at_once.Place(self.place(f"{name} one")),
            many_at_once.Place(self.place(f"{name} two"), 2, *urls),
        ):
            figures = does(place, self.sizes.clients, each)
            yield Found(figures.line(), figures.passed)

    def keys(self) -> Iterator[Found]:
        """Every key again and again."""
        return self._many(many_at_once.keys, self.sizes.keys_each)

    def storms(self) -> Iterator[Found]:
        """Many counting at once."""
        return self._many(many_at_once.storm, self.sizes.counts_each)

    def full_disks(self) -> Iterator[Found]:
        """Disks that fill up."""
        for way in disk_full.WAYS:
            for turn in range(self.sizes.disks):
                figures = disk_full.run(way, self.place(f"{way} {turn}"))
                yield Found(figures.line(), figures.passed)

    @cached_property
    def backed_up(self) -> backups.Figures:
        """A backup put back, and spoilt ones."""
        return backups.run(self.place("backups"), random.Random())

    def backups(self) -> Iterator[Found]:
        """A backup put back."""
        yield Found(self.backed_up.lines()[0], self.backed_up.is_whole)

    def spoilt_backups(self) -> Iterator[Found]:
        """Spoilt ones refused."""
        yield Found(self.backed_up.lines()[1], self.backed_up.refuses)

    def half_uploads(self) -> Iterator[Found]:
        """Uploads cut off."""
        figures = half_uploads.run(self.place("uploads"), self.sizes.uploads)
        yield Found(figures.line(), figures.passed)

    def state_machine(self) -> Iterator[Found]:
        """The studio against its model."""
        runs, steps = self.sizes.runs, self.sizes.steps
        try:
            state_machine.run(state_machine.prepared(self.place("model")), runs, steps, same=False)
        except AssertionError as broken:
            yield Found(f"state machine: {broken}", passed=False)
        else:
            yield Found(f"state machine: {runs} runs of {steps} steps, 0 violations (0): pass", passed=True)

    def asvs(self) -> Iterator[Found]:
        """The rows of asvs.toml."""
        rows = read("asvs.toml")["rows"]
        tested, deviating = [sum(part in row for row in rows) for part in ("tests", "deviation")]
        bare = [row["no"] for row in rows if not shown(row)]
        yield Found(
            f"{len(rows)} rows, {tested} with tests, {deviating} deviate in part or whole, {len(bare)} bare (0)",
            not bare,
        )


def read(name: str) -> dict[str, Any]:
    """What a file of promises says."""
    return tomllib.loads((HERE / name).read_text(encoding="utf-8"))


def shown(row: dict[str, Any]) -> bool:
    """Whether a row is shown by something that is there, or says why it is not."""
    tests = row.get("tests", [])
    is_there = all((TOP / name).is_file() for name in tests)
    return is_there and bool(tests or {"measure", "command", "deviation"} & row.keys())


def ran(tests: Sequence[str]) -> Found:
    """Run the named tests."""
    asked = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", *tests]
    done = subprocess.run(asked, cwd=TOP, env={**os.environ}, capture_output=True, text=True, check=False)
    last = (done.stdout.strip().splitlines() or ["no answer"])[-1]
    return Found(f"{' '.join(tests)}: {last}", done.returncode == 0)


def row_of(promise: dict[str, Any], measuring: Measuring, *, run_tests: bool) -> Row:
    """A promise measured, or with the place where it is shown."""
    row = Row(promise["number"], promise["says"], promise["reach"])
    found = measuring.of(promise["measure"]) if "measure" in promise else []
    if run_tests and "tests" in promise:
        found = [*found, ran(promise["tests"])]
    row.found += [each.line for each in found]
    if not run_tests:
        row.found += [f"tests: {name}" for name in promise.get("tests", [])]
    row.found += [f"by: {promise['command']}"] if "command" in promise else []
    row.found += [f"deviation: {promise['deviation']}"] if "deviation" in promise else []
    if found:
        row.verdict = "pass" if all(each.passed for each in found) else "MISS"
    elif promise.keys() <= {"number", "says", "reach", "deviation"}:
        row.verdict = "not shown"
    return row


def main(arguments: Sequence[str]) -> int:
    """Measure, print the table as it grows, and write it down if asked to."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--long", action="store_true", help="the full figures, and the named tests too")
    parser.add_argument("--only", type=int, nargs="*", default=[], help="only these numbers")
    parser.add_argument("--json", type=Path, help="write it down here too")
    asked, rows, began = parser.parse_args(arguments), [], time.monotonic()
    with tempfile.TemporaryDirectory() as folder, postgresql() as server:
        measuring = Measuring(Path(folder), server, LONG if asked.long else Sizes())
        print("| no. | promise | to reach | found | |\n|---|---|---|---|---|", flush=True)
        for promise in read("promises.toml")["promise"]:
            if asked.only and promise["number"] not in asked.only:
                continue
            row = row_of(promise, measuring, run_tests=asked.long)
            rows.append(row)
            print(f"| {row.number} | {row.says} | {row.reach} | {'; '.join(row.found)} | {row.verdict} |", flush=True)
    missed = [row.number for row in rows if row.verdict == "MISS"]
    length = "in full" if asked.long else "in short: the full figures with --long"
    print(f"\n{len(rows)} promises, {len(missed)} missed {missed}, {time.monotonic() - began:.0f} s, {length}.")
    if asked.json:
        said = {"long": asked.long, "missed": missed, "rows": [asdict(row) for row in rows]}
        asked.json.write_text(json.dumps(said, indent=1, ensure_ascii=False), encoding="utf-8")
    return int(bool(missed))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
