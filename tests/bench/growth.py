"""The same pages at 1, 10 and 100 times the history: as many open pieces, ever more that are done."""

import statistics
import time
from pathlib import Path

from tests.bench.big import Studio, counts, studio_of, window_cookie
from tests.bench.figures import Figure
from tests.bench.load import Asked, load
from tests.bench.pages import pages_of, service_on
from tests.bench.servers import Running, ask

TIMES = (1, 10, 100)
ROUNDS = 3
MOST_GROWTH = 1.2
SETTLES_WITHIN_S, AT_REST_S = 120, 0.05
SHOWN = ("work_table", "garment", "step", "window")


def measure_growth(folder: Path, garments: int, seconds: float) -> list[Figure]:
    """How much longer pages and tallies take at 10 and 100 times the history, in median answers of one connection."""
    waits: dict[tuple[str, int], float] = {}
    for times in TIMES:
        studio = studio_of(folder / f"times{times}", garments * times // TIMES[-1], open_every=times)
        waits |= {(name, times): wait for name, wait in _waits(studio, seconds).items()}
    figures = []
    for name in (*SHOWN, "tally"):
        base = waits[name, 1]
        for times in TIMES[1:]:
            said = f"{name.replace('_', ' ')} at {times}× the history (1×: {base:.1f} ms)"
            figures.append(Figure("growth", said, waits[name, times] / base, "times as long", MOST_GROWTH))
    return figures


def _waits(studio: Studio, seconds: float) -> dict[str, float]:
    """Median ms of every page, the least of some rounds, so that what else the machine does is left out."""
    found = {}
    with service_on(studio) as service:
        window = window_cookie(service, studio)
        for page in pages_of(studio, window):
            ask(service.port, "GET", page.path, dict(page.headers))
        _settled(service)
        for page in pages_of(studio, window):
            if page.name in SHOWN:
                asked = Asked(service.url(page.path), page.headers)
                load(asked, 0.5, connections=1)
                rounds = [load(asked, seconds / 6, connections=1).p50_ms for _ in range(ROUNDS)]
                found[page.name] = min(rounds)
        token = (("Authorization", f"Bearer {studio.token}"),)
        sent = counts(studio)
        rounds = [
            load(Asked(service.url("/api"), token, sent), seconds / 6, connections=1).p50_ms for _ in range(ROUNDS)
        ]
        found["tally"] = statistics.median(rounds)
    return found


def _settled(service: Running) -> None:
    """Wait until nothing is reckoned behind the first answers: a second of processor where pieces are finished, none
    where none is yet, so that the pages of one studio would share their processor and those of another not.
    """
    ends = time.monotonic() + SETTLES_WITHIN_S
    while time.monotonic() < ends:
        before = service.cpu_s
        time.sleep(1)
        if service.cpu_s - before < AT_REST_S:
            return
    raise RuntimeError("the service does not come to rest")
