"""How many questions each page asks of the database, counted at the driver."""

import asyncio
from collections.abc import Mapping
from typing import Any

from sqlalchemy import event

from service.app import create_app
from service.records.db import open_database, sqlite_url
from tests.bench.big import Studio
from tests.bench.figures import Figure
from tests.bench.pages import pages_of

TIMES = 3  # the first also makes what is kept from then on


def measure_questions(studio: Studio) -> list[Figure]:
    """Questions of every signed-in page, when what can be kept is kept."""
    database = open_database(sqlite_url(studio.folder))
    app = create_app(database)
    asked: list[str] = []
    event.listen(database.reader, "before_cursor_execute", lambda *told: asked.append(str(told[2])))
    figures = []
    for page in pages_of(studio, ""):
        if page.name == "window":
            continue
        for _ in range(TIMES):
            asked.clear()
            status = asyncio.run(_status(app, page.path, dict(page.headers)))
            assert status == 200, f"{page.path} answered {status}"
        figures.append(Figure("questions", page.name.replace("_", " "), len(asked), "a page"))
    database.close()
    return figures


async def _status(app: Any, path: str, headers: Mapping[str, str]) -> int:
    """The status of one request that goes through the whole service, without a server."""
    address, _, query = path.partition("?")
    scope = {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": "GET",
        "scheme": "http",
        "path": address,
        "raw_path": address.encode(),
        "root_path": "",
        "query_string": query.encode(),
        "headers": [(b"host", b"127.0.0.1"), *((k.lower().encode(), v.encode()) for k, v in headers.items())],
        "client": ("127.0.0.1", 1),
        "server": ("127.0.0.1", 80),
    }
    found: list[int] = []

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: dict[str, Any]) -> None:
        if message["type"] == "http.response.start":
            found.append(message["status"])

    await app(scope, receive, send)
    return found[0]
