"""What is shown only when it is made: a link, an address, codes.

The form that makes it is answered with 303, on to a page of its own. The secret goes there in a cookie of that browser,
which no script reads and which ends within minutes; the book keeps none. So Back and a reload show that page again for
a while, where an answer to the form itself would have the browser ask to send the form once more.
"""

import hashlib
from datetime import timedelta
from urllib.parse import quote, unquote

from fastapi import Request
from fastapi.responses import Response

from service.web.deps import Desk, is_https

LASTS = timedelta(minutes=10)
PLAIN_SHOWN = "stopline_shown"
SECURE_SHOWN = "__Host-stopline_shown"


def lead_to(desk: Desk, path: str, secret: str) -> Response:
    """On to the page at that path, which shows this person in this browser the secret."""
    answer = desk.go(path)
    https = is_https(desk.request)
    answer.set_cookie(
        SECURE_SHOWN if https else PLAIN_SHOWN,
        f"{_whose(desk, path.partition('?')[0])}.{quote(secret, safe='')}",
        max_age=int(LASTS.total_seconds()),
        path="/",
        secure=https,
        httponly=True,
        samesite="lax",
    )
    return answer


def shown_here(desk: Desk) -> str:
    """The secret that this page is to show; empty when it was not made in this browser, or too long ago."""
    kept = desk.request.cookies.get(SECURE_SHOWN if is_https(desk.request) else PLAIN_SHOWN) or ""
    whose, _, secret = kept.partition(".")
    return unquote(secret) if whose == _whose(desk, desk.request.url.path) else ""


def forget_shown(request: Request, answer: Response) -> None:
    """Take it out of the browser."""
    https = is_https(request)
    name = SECURE_SHOWN if https else PLAIN_SHOWN
    answer.delete_cookie(name, path="/", secure=https, httponly=True, samesite="lax")


def _whose(desk: Desk, path: str) -> str:
    """A page and a person in few signs, so that neither another page nor another person shows it."""
    assert desk.person is not None
    return hashlib.sha256(f"{desk.person.id} {path}".encode()).hexdigest()[:16]
