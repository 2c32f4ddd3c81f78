"""What is shown only when it is made: a link, an address, codes.

The form that makes it is answered with 303, on to a page of its own. The secret goes there in a cookie of that browser,
which no script reads and which ends within minutes; the book keeps none. So Back and a reload show that page again for
a while, where an answer to the form itself would have the browser ask to send the form once more. Its page asks the
book whether it is still good, and else leads on.
"""

import hashlib
import hmac
from datetime import timedelta
from urllib.parse import quote, unquote

from fastapi import Request
from fastapi.responses import Response

from service.web.deps import Desk, is_https, secret_of

LASTS = timedelta(minutes=10)
PLAIN_SHOWN = "stopline_shown"
SECURE_SHOWN = "__Host-stopline_shown"


def lead_to(desk: Desk, path: str, secret: str) -> Response:
    """On to the page at that path, which shows the secret in this browser as long as this session lasts."""
    answer = desk.go(path)
    https = is_https(desk.request)
    answer.set_cookie(
        SECURE_SHOWN if https else PLAIN_SHOWN,
        f"{_seal(desk.request, path.partition('?')[0], secret)}.{quote(secret, safe='')}",
        max_age=int(LASTS.total_seconds()),
        path="/",
        secure=https,
        httponly=True,
        samesite="lax",
    )
    return answer


def shown_here(desk: Desk) -> str:
    """The secret that this page is to show; empty when it was not made in this session, or too long ago."""
    kept = desk.request.cookies.get(SECURE_SHOWN if is_https(desk.request) else PLAIN_SHOWN) or ""
    seal, _, quoted = kept.partition(".")
    secret = unquote(quoted)
    sealed = _seal(desk.request, desk.request.url.path, secret)
    return secret if hmac.compare_digest(seal.encode(), sealed.encode()) else ""


def forget_shown(request: Request, answer: Response) -> None:
    """Take it out of the browser, if it is there."""
    https = is_https(request)
    name = SECURE_SHOWN if https else PLAIN_SHOWN
    if name not in request.cookies:
        return
    answer.delete_cookie(name, path="/", secure=https, httponly=True, samesite="lax")


def _seal(request: Request, path: str, secret: str) -> str:
    """What only this session could write before a secret for that page: no other page, session or hand shows one."""
    return hmac.new(secret_of(request).encode(), f"{path} {secret}".encode(), hashlib.sha256).hexdigest()
