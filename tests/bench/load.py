"""A load over loopback: so many connections that ask again as soon as they are answered, for so many seconds."""

import asyncio
import itertools
import re
import shutil
import subprocess
import time
from collections.abc import Iterator
from dataclasses import dataclass
from urllib.parse import urlsplit

CONNECTIONS = 8
WAIT_S = 60
FIGURE = re.compile(r"^\s*(Requests/sec:|50%|99%)\s+([\d.]+)(us|ms|s|m)?", re.MULTILINE)
IN_MS = {"us": 0.001, "ms": 1.0, "s": 1000.0, "m": 60_000.0}


@dataclass(frozen=True, slots=True)
class Asked:
    """What one connection sends, and by which answer it is known to be right."""

    url: str
    headers: tuple[tuple[str, str], ...] = ()
    bodies: Iterator[tuple[str, bytes]] | None = None  # path and JSON of each, for what is sent
    status: int = 200

    def bytes_of(self, path: str, body: bytes | None) -> bytes:
        """One request as it goes over the line."""
        lines = [f"{'GET' if body is None else 'POST'} {path} HTTP/1.1", f"Host: {urlsplit(self.url).netloc}"]
        lines += [f"{name}: {value}" for name, value in self.headers]
        if body is not None:
            lines += ["Content-Type: application/json", f"Content-Length: {len(body)}"]
        return "\r\n".join([*lines, "", ""]).encode() + (body or b"")


@dataclass(frozen=True, slots=True)
class Loaded:
    """How it went: requests a second, half and all but one in a hundred answered within so many ms, how many."""

    per_second: float
    p50_ms: float
    p99_ms: float
    answers: int


def load(asked: Asked, seconds: float, connections: int = CONNECTIONS) -> Loaded:
    """Load an address; by wrk when that is on PATH and nothing is sent."""
    if asked.bodies is None and shutil.which("wrk"):
        return _by_wrk(asked, seconds, connections)
    return asyncio.run(_by_ourselves(asked, seconds, connections))


def _by_wrk(asked: Asked, seconds: float, connections: int) -> Loaded:
    headers = [part for name, value in asked.headers for part in ("-H", f"{name}: {value}")]
    command = ["wrk", "-t1", f"-c{connections}", f"-d{max(1, round(seconds))}s", "--latency", *headers, asked.url]
    told = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    if "Non-2xx" in told or "Socket errors" in told:
        raise RuntimeError(told)
    found = {name: float(figure) * IN_MS.get(unit, 1.0) for name, figure, unit in FIGURE.findall(told)}
    per_second = found["Requests/sec:"]
    return Loaded(per_second, found["50%"], found["99%"], round(per_second * seconds))


async def _by_ourselves(asked: Asked, seconds: float, connections: int) -> Loaded:
    parts = urlsplit(asked.url)
    path = parts.path + (f"?{parts.query}" if parts.query else "")
    plain = asked.bytes_of(path, None)
    sent = itertools.repeat(plain) if asked.bodies is None else (asked.bytes_of(*each) for each in asked.bodies)
    took: list[float] = []
    began = time.perf_counter()
    ends = began + seconds

    async def one() -> None:
        read, write = await asyncio.open_connection(parts.hostname, parts.port)
        while time.perf_counter() < ends and (request := next(sent, None)) is not None:
            asked_at = time.perf_counter()
            write.write(request)
            status = await asyncio.wait_for(_answer(read), WAIT_S)
            if status != asked.status:
                raise RuntimeError(f"{asked.url} answered {status}, not {asked.status}")
            took.append(time.perf_counter() - asked_at)
        write.close()
        await write.wait_closed()

    await asyncio.gather(*(one() for _ in range(connections)))
    lasted = time.perf_counter() - began
    took.sort()
    return Loaded(len(took) / lasted, _at(took, 0.5), _at(took, 0.99), len(took))


async def _answer(read: asyncio.StreamReader) -> int:
    head = await read.readuntil(b"\r\n\r\n")
    length = re.search(rb"\r\ncontent-length: (\d+)\r\n", head, re.IGNORECASE)
    if length is None:
        raise RuntimeError("an answer without a length")
    await read.readexactly(int(length[1]))
    return int(head[9:12])


def _at(took: list[float], share: float) -> float:
    return 1000 * took[min(len(took) - 1, int(share * len(took)))] if took else float("inf")
