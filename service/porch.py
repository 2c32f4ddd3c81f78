"""The service from the moment it listens: until all is loaded the sign-in page is answered as it was kept.

Whatever else is asked for waits until all is loaded, and is then answered as always. Loading happens in a thread beside
the server, once; where it fails, the service stops and says why.
"""

import asyncio
import logging
from collections.abc import Callable, Iterable, MutableMapping
from pathlib import Path
from typing import Any, Protocol

from starlette.middleware.gzip import GZipMiddleware

from service.first_page import FirstPage, keep_page, mark_of
from service.web.guard import SHRINKS_FROM, SHRINKS_HOW, Guard, Receive, Scope, Send, begin

LOGIN = "/login"
SAYS_WHO = {b"cookie", b"authorization", b"hx-request"}
NOT_LOADED = b"The service could not start. What is wrong stands in its log."
log = logging.getLogger(__name__)


class Service(Protocol):
    """The service when all is loaded."""

    router: Any

    async def __call__(self, scope: Any, receive: Any, send: Any) -> None: ...


class Porch:
    """Stands before the service; `load` gives it, `folder` is where the first page is kept, if it is."""

    def __init__(
        self,
        load: Callable[[], Service],
        page: FirstPage | None,
        *,
        folder: Path | None,
        hosts: Iterable[str] = (),
        https: bool = False,
    ) -> None:
        self.fault: BaseException | None = None
        self.stop: Callable[[], None] = lambda: None
        self._load = load
        self._page = page
        self._folder = folder
        self._mark = page.mark if page else ""
        self._service: Service | None = None
        self._is_loaded = asyncio.Event()
        shrunk = GZipMiddleware(self._show, minimum_size=SHRINKS_FROM, compresslevel=SHRINKS_HOW)
        self._early = Guard(shrunk, hosts=hosts, https=https, answer=_plainly)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, at once or when all is loaded."""
        if self._service is not None and scope["type"] == "http":
            await self._service(scope, receive, send)
        elif scope["type"] == "lifespan":
            await self._live(receive, send)
        elif self._page is not None and is_first(scope):
            await self._early(scope, receive, send)
        else:
            await self._is_loaded.wait()
            await (self._service or _not_loaded)(scope, receive, send)

    async def _live(self, receive: Receive, send: Send) -> None:
        """From the start of the server to its end."""
        await receive()
        await send({"type": "lifespan.startup.complete"})
        try:
            service = await asyncio.to_thread(self._load)
        except Exception as fault:
            self.fault = fault  # told by whoever started the server
            self._is_loaded.set()
            self.stop()
            raise
        async with service.router.lifespan_context(service):
            self._service = service
            self._is_loaded.set()
            await self._keep(service)
            await receive()
            await self._keep(service)
        await send({"type": "lifespan.shutdown.complete"})

    async def _show(self, _scope: Any, _receive: Any, send: Any) -> None:
        assert self._page is not None
        body = self._page.body.encode()
        headers = [(name.encode("latin-1"), value.encode("latin-1")) for name, value in self._page.headers]
        headers.append((b"content-length", str(len(body)).encode()))
        await send({"type": "http.response.start", "status": 200, "headers": headers})
        await send({"type": "http.response.body", "body": body})

    async def _keep(self, service: Service) -> None:
        """Keep the first page for the next start, unless it is kept as it is."""
        if self._folder is None:
            return
        try:
            mark = await asyncio.to_thread(mark_of, self._folder)
            page = await _asked(service, mark) if mark not in {"", self._mark} else None
            if page is not None and await asyncio.to_thread(mark_of, self._folder) == mark:
                await asyncio.to_thread(keep_page, self._folder, page)
                self._mark = mark
        except Exception:  # without it only the next start is slower
            log.exception("the sign-in page was not kept")


def is_first(scope: Scope) -> bool:
    """Whether the sign-in page is asked for by somebody who says nothing of herself."""
    is_login = scope["method"] == "GET" and scope["path"] == LOGIN and not scope["query_string"]
    return is_login and not SAYS_WHO & {name for name, _ in scope["headers"]}


async def _asked(service: Service, mark: str) -> FirstPage | None:
    """The sign-in page as the service's own routes answer it, without what stands before them."""
    from fastapi.middleware.asyncexitstack import AsyncExitStackMiddleware

    said: list[MutableMapping[str, Any]] = []

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: MutableMapping[str, Any]) -> None:
        said.append(message)

    begin()
    scope = {
        "type": "http",
        "app": service,
        "method": "GET",
        "path": LOGIN,
        "root_path": "",
        "scheme": "http",
        "query_string": b"",
        "headers": [],
        "server": ("localhost", 80),
        "client": None,
        "http_version": "1.1",
    }
    await AsyncExitStackMiddleware(service.router)(scope, receive, send)
    if said[0]["status"] != 200:
        return None
    headers = [(name.decode("latin-1"), value.decode("latin-1")) for name, value in said[0]["headers"]]
    body = b"".join(message.get("body", b"") for message in said[1:])
    return FirstPage(mark, tuple(each for each in headers if each[0] != "content-length"), body.decode())


def _plainly(_scope: Scope, _status: int, sentence: str) -> tuple[str, bytes]:
    return "text/plain; charset=utf-8", sentence.encode()


async def _not_loaded(_scope: Scope, _receive: Receive, send: Send) -> None:
    await send({"type": "http.response.start", "status": 503, "headers": [(b"content-type", b"text/plain")]})
    await send({"type": "http.response.body", "body": NOT_LOADED})
