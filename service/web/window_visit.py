"""How a client's browser is let in: a secret link, a button, a narrow cookie; and what every answer to it carries."""

from ipaddress import ip_address
from typing import Annotated, Any
from urllib.parse import urlsplit

from fastapi import Depends, Request
from fastapi.responses import RedirectResponse, Response
from limits import parse

from service.errors import TooMany
from service.records.db import Database
from service.studio.window import Let, let_by
from service.web.deps import Desk, Now, is_https, the_database

PLAIN_COOKIE = "stopline_window"
SECURE_COOKIE = "__Secure-stopline_window"
PATH = "/window"
PER_ADDRESS = parse("30/minute")
UNSEEN = {"X-Robots-Tag": "noindex, nofollow", "Cache-Control": "no-store"}


def visitor(request: Request, database: Annotated[Database, Depends(the_database)], at: Now) -> Let:
    """Whom the cookie of the window lets in; nobody else is answered."""
    secret = request.cookies.get(SECURE_COOKIE if is_https(request) else PLAIN_COOKIE) or ""
    with database.reading() as db:
        return let_by(db, secret, at)


Visitor = Annotated[Let, Depends(visitor)]


def unseen(answer: Response, *, secret_address: bool = False) -> Response:
    """An answer that no search engine lists and no browser keeps; of an address with a secret nothing is passed on."""
    answer.headers.update(UNSEEN)
    if secret_address:
        answer.headers["Referrer-Policy"] = "no-referrer"
    return answer


def window_page(desk: Desk, template: str, *, status: int = 200, **context: Any) -> Response:
    """A page of the window: nobody is signed in on it, even where the owner looks at it herself."""
    return unseen(desk.page(template, "", status=status, **{**context, "person": None}))


def refuse_many_tries(request: Request) -> None:
    """Let an address try so many secrets a minute and no more."""
    address = request.client.host if request.client else ""
    if not request.app.state.tries.hit(PER_ADDRESS, "window", address):
        raise TooMany("Too many tries. Wait a minute, then open the link again.")


def going_in(request: Request, secret: str) -> Response:
    """On to the window, with the cookie that shows it."""
    https = is_https(request)
    answer = RedirectResponse(PATH, 303)
    answer.set_cookie(
        SECURE_COOKIE if https else PLAIN_COOKIE,
        secret,
        path=PATH,
        secure=https,
        httponly=True,
        samesite="lax",
    )
    return unseen(answer)


def is_of_this_machine(link: str) -> bool:
    """Whether an address opens on this computer alone, and on nobody's phone.

    >>> [is_of_this_machine(f"http://{host}/come-in") for host in ("127.0.0.1:8000", "localhost", "[::1]")]
    [True, True, True]
    >>> is_of_this_machine("http://192.168.1.7:8000/come-in/x"), is_of_this_machine("https://stopline.local/come-in/x")
    (False, False)
    """
    host = urlsplit(link).hostname or ""
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return host == "localhost" or host.endswith(".localhost")


def is_seen_from_here_only(link: str) -> bool:
    """Whether an address opens on this computer or in this house alone, and on no client's phone.

    >>> [is_seen_from_here_only(f"http://{host}/window") for host in ("127.0.0.1:8000", "sewing-room", "[fd00::1]")]
    [True, True, True]
    >>> is_seen_from_here_only("https://book.example.org/window/in/x")
    False
    """
    host = urlsplit(link).hostname or ""
    try:
        return not ip_address(host).is_global
    except ValueError:
        return "." not in host or host.endswith((".local", ".localhost", ".lan", ".internal", ".home.arpa"))
