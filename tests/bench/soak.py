"""A soak: twenty times a busy day's pace for an hour, and whether memory, open files and write-ahead file stay flat.

`python -m tests.bench.soak --minutes 60` fills a studio of 500 garments and starts the service on it. Two stitchers and
an owner then look and count as on a busy day, twenty times as fast: in each minute forty pages and twenty tallies. Every
few minutes a line says how the service stands; the end compares its first quarter with its last. It fails when one grew.
"""

import argparse
import itertools
import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from tests.bench.big import Studio, counts, studio_of, window_cookie
from tests.bench.figures import Figure, table
from tests.bench.pages import pages_of, service_on
from tests.bench.servers import Running, ask

GARMENTS = 500
PAGES_A_MINUTE, TALLIES_A_MINUTE = 40, 20  # a busy day has two pages and one tally in a minute
SAYS_EVERY_S = 300
MOST_GROWTH, MOST_RSS_MB, MOST_WAL_MB = 1.1, 200, 8


@dataclass(frozen=True, slots=True)
class Stand:
    """How the service stood at one moment."""

    rss_mb: float
    files: int
    wal_mb: float
    slowest_ms: float


def main(minutes: float, say: Callable[[str], None] = print) -> int:
    """Soak, say how it stands from time to time, and judge; 1 when something grew or an answer was wrong."""
    with tempfile.TemporaryDirectory(prefix="stopline-soak-") as place:
        studio = studio_of(Path(place) / "studio", GARMENTS)
        with service_on(studio) as service:
            say("| minute | resident MB | open files | write-ahead MB | slowest answer ms |\n|---|---|---|---|---|")
            stands = list(_soaked(service, studio, 60 * minutes, say))
    figures = judged(stands)
    say(f"\n{minutes:g} minutes, load average {os.getloadavg()[0]:.1f}.")
    say(table(figures))
    return int(any(each.is_missed for each in figures))


def _soaked(service: Running, studio: Studio, seconds: float, say: Callable[[str], None]) -> Iterator[Stand]:
    """Look and count at an even pace; how it stands after each twentieth of the time."""
    pages = itertools.cycle(pages_of(studio, window_cookie(service, studio)))
    # Each round ends the steps that are open, so that the next one finds those after them.
    tallies = itertools.chain.from_iterable(counts(studio, leaves=0) for _ in itertools.count())
    script = {"Authorization": f"Bearer {studio.token}", "Content-Type": "application/json"}
    began, looks, counted, said = time.monotonic(), 0, 0, 0.0
    slowest, due = 0.0, seconds / 20
    while (passed := time.monotonic() - began) < seconds:
        if looks < passed * PAGES_A_MINUTE / 60:
            page = next(pages)
            slowest = max(slowest, _timed(service, "GET", page.path, dict(page.headers)))
            looks += 1
        elif counted < passed * TALLIES_A_MINUTE / 60:
            path, body = next(tallies)
            slowest = max(slowest, _timed(service, "POST", path, script, body.decode()))
            counted += 1
        else:
            time.sleep(0.05)
        if passed >= due:
            stand = Stand(service.rss_mb, service.open_files, _wal_mb(studio), slowest)
            if passed - said >= min(SAYS_EVERY_S, seconds / 5):
                said = passed
                say(f"| {passed / 60:.1f} | {stand.rss_mb:.0f} | {stand.files} | {stand.wal_mb:.1f} | {slowest:.0f} |")
            yield stand
            slowest, due = 0.0, due + seconds / 20


def _timed(service: Running, method: str, path: str, headers: dict[str, str], body: str | None = None) -> float:
    began = time.perf_counter()
    status, _, _ = ask(service.port, method, path, headers, body)
    assert status in {200, 409}, f"{method} {path} answered {status}"  # 409: the step is full by now
    return 1000 * (time.perf_counter() - began)


def _wal_mb(studio: Studio) -> float:
    file = studio.file.with_name(f"{studio.file.name}-wal")
    return file.stat().st_size / 1e6 if file.exists() else 0.0


def judged(stands: list[Stand]) -> list[Figure]:
    """The last quarter against the one after the start has settled."""
    quarter = max(1, len(stands) // 4)
    early, late = stands[quarter : 2 * quarter], stands[-quarter:]

    def middle(of: list[Stand], what: str) -> float:
        return statistics.median(float(getattr(each, what)) for each in of)

    grew = [middle(late, what) / max(middle(early, what), 0.1) for what in ("rss_mb", "files")]
    return [
        Figure("soak", "memory at the end in times of early on", grew[0], "", MOST_GROWTH),
        Figure("soak", "memory at the end", middle(late, "rss_mb"), "MB", MOST_RSS_MB),
        Figure("soak", "open files at the end in times of early on", grew[1], "", MOST_GROWTH),
        Figure("soak", "write-ahead file, the most", max(each.wal_mb for each in stands), "MB", MOST_WAL_MB),
        Figure("soak", "slowest answer", max(each.slowest_ms for each in stands), "ms"),
    ]


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description="Soak the service at twenty times a busy day's pace.")
    parser.add_argument("--minutes", type=float, default=60, help="how long")
    sys.exit(main(parser.parse_args().minutes))
