"""Pages against the limit page, in turn on the same processor: requests a second, waiting, processor, memory."""

import contextlib
import re
import sqlite3
import statistics
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from tests.bench.big import Studio, counts, window_cookie
from tests.bench.figures import Figure
from tests.bench.load import Asked, Loaded, load
from tests.bench.servers import (
    FIRST,
    LAST,
    Running,
    ask,
    free_port,
    keep_to,
    limit_arguments,
    running,
    service_arguments,
    surroundings,
)

ROUNDS = 3
GATED = {"work_table"}  # the others are shown, and have no mark of their own
LINKED = re.compile(r'(?:src|href)="(/static/[^"]+)"')
FIRST_KB, LATER_KB, MOST_REQUESTS, MOST_RSS_MB = 100, 30, 10, 200
ONE_THIRD, MOST_WAIT, SHEET_MS = 1 / 3, 5, 100
INSERT = "insert into tally (key, step_id, kind, counted, seconds, at) values (?, ?, 'work', 10, 120, ?)"
TABLE = """create table tally (id integer primary key, key text not null unique, step_id integer not null,
kind text not null, counted integer not null, seconds integer, at text not null)"""


@dataclass(frozen=True, slots=True)
class Page:
    """One page of ours, and the address of the limit page that stands beside it."""

    name: str
    path: str
    limit: str
    headers: tuple[tuple[str, str], ...]


def pages_of(studio: Studio, window: str) -> list[Page]:
    """The pages that are measured, and what each is asked with."""
    owner, client = (("Cookie", studio.cookie),), (("Cookie", window),)
    return [
        Page("work_table", "/", "/work_table", owner),
        Page("garment", f"/garments/{studio.garment}", f"/garment?id={studio.garment}", owner),
        Page("step", f"/steps/{studio.step}", f"/step?id={studio.step}", owner),
        Page("search", "/?q=Garment+4", "/search?q=Garment+4", owner),
        Page("window", "/window", f"/window?id={studio.commission}", client),
        Page("standing", "/api/standing", "/standing", (("Authorization", f"Bearer {studio.token}"),)),
    ]


@contextlib.contextmanager
def service_on(studio: Studio) -> Iterator[Running]:
    """The service on this studio, warmed up."""
    port = free_port()
    around = surroundings(STOPLINE_BACKUP_HOURS="0")
    with running(service_arguments(studio.folder, port), port, "/health", around) as service:
        yield service


def measure_pages(studio: Studio, seconds: float) -> list[Figure]:
    """Every page and the tally, in turn with the limit."""
    figures = []
    with service_on(studio) as service:
        pages = pages_of(studio, window_cookie(service, studio))
        sizes = {page.name: len(_looked_at(service, page)) for page in pages}
        port = free_port()
        limit_page = limit_arguments(studio.file, port, sizes)
        with running(limit_page, port, "/work_table", surroundings()) as limit:
            for page in pages:
                figures += _against(service, limit, page, seconds)
        figures += _weights(service, pages)
        figures += _tally(service, studio, seconds)
        figures.append(Figure("memory", "resident, after the load", service.rss_mb, "MB", MOST_RSS_MB))
        figures += _papers(service, studio)
    return figures


def _looked_at(service: Running, page: Page) -> bytes:
    for _ in range(3):  # what is made when first asked for is made now, and what is made behind an answer too
        status, _, body = ask(service.port, "GET", page.path, dict(page.headers))
        assert status == 200, f"{page.path} answered {status}"
        time.sleep(0.3)
    return body


def _against(service: Running, limit: Running, page: Page, seconds: float) -> list[Figure]:
    ours, theirs = Asked(service.url(page.path), page.headers), Asked(limit.url(page.limit))
    went: dict[str, list[Loaded]] = {"ours": [], "limit": []}
    cpu: dict[str, float] = {}
    for _ in range(ROUNDS):
        for name, server, asked in (("ours", service, ours), ("limit", limit, theirs)):
            before = server.cpu_s
            went[name].append(load(asked, seconds / ROUNDS))
            cpu[name] = cpu.get(name, 0.0) + server.cpu_s - before
    half, most = (statistics.median(getattr(each, what) for each in went["ours"]) for what in ("p50_ms", "p99_ms"))
    per_second = {name: statistics.median(each.per_second for each in loads) for name, loads in went.items()}
    spent = {name: 1000 * cpu[name] / max(1, sum(each.answers for each in loads)) for name, loads in went.items()}
    is_gated = page.name in GATED
    said = page.name.replace("_", " ")
    return [
        Figure("pages", f"{said}: requests a second", per_second["ours"], f"(limit {per_second['limit']:,.0f})"),
        Figure(
            "pages",
            f"{said}: share of the limit",
            per_second["ours"] / per_second["limit"],
            "",
            ONE_THIRD if is_gated else None,
            "at least",
        ),
        Figure("pages", f"{said}: half answered within", half, "ms"),
        Figure(
            "pages",
            f"{said}: p99 in times of p50 (p99 {most:.1f} ms)",
            most / half,
            "",
            MOST_WAIT if is_gated else None,
        ),
        Figure("pages", f"{said}: processor a request", spent["ours"], f"ms (limit {spent['limit']:.2f})"),
    ]


def _tally(service: Running, studio: Studio, seconds: float) -> list[Figure]:
    token = (("Authorization", f"Bearer {studio.token}"),)
    sent = counts(studio)
    stored, bare = [], []
    for _ in range(ROUNDS):
        stored.append(load(Asked(service.url("/api/standing"), token, sent), seconds / ROUNDS))
        bare.append(_bare_inserts(studio.folder.parent / "bare.sqlite", seconds / ROUNDS))
    per_second = statistics.median(each.per_second for each in stored)
    alone = statistics.median(bare)
    return [
        Figure("tally", "stored a second, synced", per_second, f"(bare insert and commit {alone:,.0f})"),
        Figure("tally", "share of the bare insert and commit", per_second / alone, "", ONE_THIRD, "at least"),
        Figure("tally", "half stored within", statistics.median(each.p50_ms for each in stored), "ms"),
    ]


def _bare_inserts(file: Path, seconds: float) -> float:
    """How many rows a second sqlite3 alone inserts and commits, each synced, on the processor of the servers."""
    keep_to(FIRST)
    file.unlink(missing_ok=True)
    with contextlib.closing(sqlite3.connect(file, isolation_level=None)) as bare:
        bare.executescript(f"pragma journal_mode=wal; pragma synchronous=full; {TABLE}")
        began, number = time.perf_counter(), 0
        while time.perf_counter() < began + seconds:
            number += 1
            bare.execute("begin immediate")
            bare.execute(INSERT, (f"bench {number}", number % 200, "2026-01-01T00:00:00"))
            bare.execute("commit")
        lasted = time.perf_counter() - began
    keep_to(LAST)
    return number / lasted


def _weights(service: Running, pages: list[Page]) -> list[Figure]:
    """What a browser fetches for a page the first time and later, compressed, and in how many requests."""
    figures = []
    for page in pages:
        if page.name in {"standing", "search"}:
            continue
        body = _looked_at(service, page).decode()
        own = _sent(service, page.path, dict(page.headers))
        assets = {path: _sent(service, path, {}) for path in sorted(set(LINKED.findall(body)))}
        lasting = [size for path, size in assets.items() if _is_kept(service, path)]
        first, said = own + sum(assets.values()), page.name.replace("_", " ")
        figures += [
            Figure("weight", f"{said}: first, compressed", first / 1000, "kB", FIRST_KB),
            Figure("weight", f"{said}: later", (first - sum(lasting)) / 1000, "kB", LATER_KB),
            Figure("weight", f"{said}: requests", 1 + len(assets), "", MOST_REQUESTS),
        ]
    return figures


def _sent(service: Running, path: str, headers: Mapping[str, str]) -> int:
    return len(ask(service.port, "GET", path, {**headers, "Accept-Encoding": "gzip"})[2])


def _is_kept(service: Running, path: str) -> bool:
    return "immutable" in ask(service.port, "GET", path)[1].get("cache-control", "")


def _papers(service: Running, studio: Studio) -> list[Figure]:
    signed_in = {"Cookie": studio.cookie}
    figures = []
    for name, path in (("marking sheet", "marking-sheet.pdf"), ("care card", "care-card.pdf"), ("label", "label.pdf")):
        address = f"/garments/{studio.garment}/{path}"
        for turn in ("the first time", "again"):
            began = time.perf_counter()
            status, _, body = ask(service.port, "GET", address, signed_in)
            took_ms = 1000 * (time.perf_counter() - began)
            assert status == 200, f"{address} answered {status}"
            pages = len(re.findall(rb"/Type\s*/Page\b(?!s)", body) or [b"one"])
            what = f"{name} as PDF, {pages} p., {turn}"
            figures.append(Figure("paper", what, took_ms / pages, "ms a page", SHEET_MS if "sheet" in name else None))
    return figures
