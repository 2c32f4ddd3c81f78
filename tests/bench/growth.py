"""The same pages at 1, 10 and 100 times the history: as many open pieces, ever more that are done."""

import contextlib
import time
from pathlib import Path

from tests.bench.big import Studio, counts, studio_of, window_cookie
from tests.bench.figures import Figure
from tests.bench.load import Asked, load
from tests.bench.pages import pages_of, service_on
from tests.bench.servers import Running, ask

TIMES = (1, 10, 100)
ROUNDS = 5
MOST_GROWTH = 1.2
SETTLES_WITHIN_S, AT_REST_S = 120, 0.05
SHOWN = ("work_table", "garment", "step", "window")


def measure_growth(folder: Path, garments: int, seconds: float) -> list[Figure]:
    """How much longer pages and tallies take at 10 and 100 times the history, in median answers of one connection."""
    with contextlib.ExitStack() as held:
        looked_at = {}
        for times in TIMES:
            studio = studio_of(folder / f"times{times}", garments * times // TIMES[-1], open_every=times)
            service = held.enter_context(service_on(studio))
            looked_at[times] = _asked(service, studio)
            _settled(service)
        waits = _waits(looked_at, seconds / 2 / ROUNDS)
    figures = []
    for name in (*SHOWN, "tally"):
        base = waits[name, 1]
        for times in TIMES[1:]:
            said = f"{name.replace('_', ' ')} at {times}× the history (1×: {base:.1f} ms)"
            figures.append(Figure("growth", said, waits[name, times] / base, "times as long", MOST_GROWTH))
    return figures


def _asked(service: Running, studio: Studio) -> dict[str, Asked]:
    """Every page, looked at once, and the tally."""
    pages = [page for page in pages_of(studio, window_cookie(service, studio)) if page.name in SHOWN]
    for page in pages:
        ask(service.port, "GET", page.path, dict(page.headers))
    token = (("Authorization", f"Bearer {studio.token}"),)
    return {page.name: Asked(service.url(page.path), page.headers) for page in pages} | {
        "tally": Asked(service.url("/api"), token, counts(studio))
    }


def _waits(looked_at: dict[int, dict[str, Asked]], seconds: float) -> dict[tuple[str, int], float]:
    """Median ms by name and history: of all studios in turn, and the least of some rounds, so that what else the
    machine does is left out.
    """
    found: dict[tuple[str, int], list[float]] = {}
    for name in (*SHOWN, "tally"):
        for _ in range(ROUNDS):
            for times, asked in looked_at.items():
                found.setdefault((name, times), []).append(load(asked[name], seconds, connections=1).p50_ms)
    return {key: min(rounds) for key, rounds in found.items()}


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
