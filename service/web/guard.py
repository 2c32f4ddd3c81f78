"""What stands between the world and every route: allowed hosts, no cross-site writes, strict headers, one log line.

The cross-site rule is the one browsers make possible: an unsafe request must say that it comes from the same
origin (Sec-Fetch-Site, else Origin against Host); a request that says neither does not come from a browser page.
"""

import ipaddress
import logging
import socket
import time
from collections.abc import Awaitable, Callable, Iterable
from functools import lru_cache
from http import HTTPStatus
from typing import Any
from urllib.parse import urlsplit

from service.languages import spoken
from service.web import manner

Scope = dict[str, Any]
Message = dict[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Any, Any, Any], Awaitable[None]]
Answer = Callable[[Scope, int, str], tuple[str, bytes]]

SECRET_PATHS = ("/window/in/", "/calendar/", "/come-in/")
TOO_LONG = "That is more than is taken at once. Nothing was changed."
WAIT = "wait_s"
"""Where a request's state says after how many seconds one more try is welcome."""
USUAL_WAIT_S = 60
SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
POLICY = (
    "default-src 'self'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; object-src 'none'; "
    "base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
)
HEADERS = (
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(self), microphone=(), geolocation=(), screen-wake-lock=(self)"),
)
SHRINKS_FROM, SHRINKS_HOW = 1500, 5
"""Pages are mostly drawings, which shrink to a tenth: from so many bytes on, at this level of gzip."""
log = logging.getLogger("stopline.request")


def is_same_origin(headers: dict[bytes, bytes]) -> bool:
    """Whether an unsafe request comes from one of our own pages, or from no page at all."""
    site, origin = headers.get(b"sec-fetch-site"), headers.get(b"origin")
    if site is not None:
        return site in {b"same-origin", b"none"}
    if origin is None:
        return True
    return urlsplit(origin.decode("latin-1")).netloc == headers.get(b"host", b"").decode("latin-1")


def without_secret(path: str) -> str:
    """An address as the log may hold it: one that is a secret itself is cut short.

    >>> without_secret("/window/in/Zm9vYmFy"), without_secret("/garments/3")
    ('/window/in/...', '/garments/3')
    """
    for beginning in SECRET_PATHS:
        if path.startswith(beginning):
            return f"{beginning}..."
    return path


@lru_cache(maxsize=16)
def host_of(value: str) -> str:
    """The host without its port, in lower case; an IPv6 address without its brackets."""
    try:
        return (urlsplit(f"//{value}").hostname or "").lower()
    except ValueError:
        return ""


def own_hosts(extra: Iterable[str]) -> frozenset[str]:
    """The names under which this machine may be asked."""
    name = socket.gethostname().lower()
    return frozenset({"localhost", name, f"{name}.local", *(host.lower() for host in extra)})


@lru_cache(maxsize=16)
def is_allowed_host(host: str, names: frozenset[str]) -> bool:
    """Whether the Host header names us: by a known name, or by a bare address, which no foreign name can fake."""
    if host in names:
        return True
    try:
        ipaddress.ip_address(host)
    except ValueError:
        return False
    return True


def is_bare(message: Message) -> bool:
    """Whether an answer's beginning refuses a body as too long in plain text."""
    kinds = [value for name, value in message["headers"] if name.lower() == b"content-type"]
    return bool(
        message["status"] == HTTPStatus.REQUEST_ENTITY_TOO_LARGE and kinds and kinds[0].startswith(b"text/plain")
    )


def _first_of(scope: Scope, header: bytes) -> str:
    """What was sent under that name."""
    return next((value.decode("latin-1") for name, value in scope["headers"] if name.lower() == header), "")


def begin() -> None:
    """Begin to answer: in the usual manner and language until the studio is known."""
    manner.begin()
    spoken.begin()


class Guard:
    """The outermost layer of the service."""

    def __init__(self, app: App, *, hosts: Iterable[str], https: bool, answer: Answer) -> None:
        self.app = app
        self.names = own_hosts(hosts)
        self.https = https
        self.answer = answer

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        begin()
        if not scope["path"].startswith("/api"):
            spoken.speak(spoken.asked_in(_first_of(scope, b"accept-language")))  # until the studio is known
        began, status, is_retold = time.perf_counter(), 0, False

        async def send_strictly(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
                headers = self._headers(scope, message["headers"])
                if status == HTTPStatus.TOO_MANY_REQUESTS:
                    headers.append((b"retry-after", b"%d" % scope.get("state", {}).get(WAIT, USUAL_WAIT_S)))
                message = {**message, "headers": headers}
            await send(message)

        async def send_in_words(message: Message) -> None:
            """Answer too long a body as every refusal is answered: whoever counts the bytes knows no words of ours."""
            nonlocal is_retold
            if message["type"] == "http.response.start" and is_bare(message):
                is_retold = True
                await self._refuse(scope, send_strictly, message["status"], TOO_LONG)
            elif not is_retold:
                await send_strictly(message)

        try:
            await self._pass(scope, receive, send_in_words)
        except Exception:
            log.exception("fault %s %s", scope["method"], without_secret(scope["path"]))
            if status == 0:
                await self._refuse(scope, send_strictly, 500, "Something went wrong on our side. Nothing was changed.")
        finally:
            took_ms = (time.perf_counter() - began) * 1000
            log.info("%s %s %d %.0f ms", scope["method"], without_secret(scope["path"]), status, took_ms)

    async def _pass(self, scope: Scope, receive: Receive, send: Send) -> None:
        headers = dict(scope["headers"])
        if not is_allowed_host(host_of(headers.get(b"host", b"").decode("latin-1")), self.names):
            await self._refuse(scope, send, 400, "The service is not known under that address.")
        elif scope["method"] not in SAFE_METHODS and not is_same_origin(headers):
            await self._refuse(scope, send, 403, "That came from another site, so nothing was changed.")
        else:
            await self.app(scope, receive, send)

    async def _refuse(self, scope: Scope, send: Send, status: int, sentence: str) -> None:
        kind, body = self.answer(scope, status, sentence)
        headers = [(b"content-type", kind.encode()), (b"content-length", str(len(body)).encode())]
        await send({"type": "http.response.start", "status": status, "headers": headers})
        await send({"type": "http.response.body", "body": body})

    def _headers(self, scope: Scope, given: Iterable[tuple[bytes, bytes]]) -> list[tuple[bytes, bytes]]:
        headers = list(given)
        present = {name.lower() for name, _ in headers}
        headers += [(name, value) for name, value in HEADERS if name not in present]
        if b"cache-control" not in present:
            headers.append((b"cache-control", b"no-store"))
        if self.https or scope.get("scheme") == "https":
            headers.append((b"strict-transport-security", b"max-age=31536000; includeSubDomains"))
        return headers
