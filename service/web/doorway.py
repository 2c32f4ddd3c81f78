"""What every door does: count tries, begin and end sessions with their cookies, and lead to pages of our own alone."""

import ipaddress
import math
from collections.abc import Sequence
from datetime import datetime, timedelta

from fastapi import Request
from fastapi.responses import Response

from service.errors import NotAllowed
from service.records.db import Writing
from service.studio.known_browsers import KNOWN_FOR, is_known, make_known
from service.studio.sessions import hold, keep_event
from service.studio.sign_in import CODE_WITHIN, SESSION_LASTS, begin_session, end_session, sha256
from service.studio.tries import FREE_OF_ADDRESS, Counted, count
from service.web.deps import PLAIN_COOKIE, SECURE_COOKIE, database_of, is_https, secret_of
from service.web.devices import device_of
from service.web.shown_once import forget_shown

PLAIN_KNOWN = "stopline_known"
SECURE_KNOWN = "__Host-stopline_known"


def inside(path: str) -> str:
    """A path of our own to go on to, never another site's.

    >>> inside("/clients?q=a"), inside("//elsewhere.example"), inside("javascript:x")
    ('/clients?q=a', '/', '/')
    """
    is_ours = path.startswith("/") and not path.startswith(("//", "/\\")) and path.isprintable()
    return path if is_ours else "/"


def address_of_visitor(request: Request) -> str:
    """The address that tries are counted under; of IPv6 the half that tells one household from another."""
    host = request.client.host if request.client else ""
    try:
        address = ipaddress.ip_address(host)
    except ValueError:
        return host
    if address.version == 4:
        return host
    return str(ipaddress.ip_network((address, 64), strict=False))


def by_address(request: Request) -> Counted:
    """Tries counted under the address they come from."""
    return Counted("address", address_of_visitor(request), FREE_OF_ADDRESS)


def by_name(request: Request, email: str, at: datetime) -> list[Counted]:
    """What a try to sign in counts under: the name and the address; of a browser known to the account, that alone."""
    secret = known_secret_of(request)
    with database_of(request).reading() as db:
        if is_known(db, secret, email, at):
            return [Counted("known browser", sha256(secret))]
    return [Counted("name", email), by_address(request)]


def has_to_wait(request: Request, under: Sequence[Counted], at: datetime) -> timedelta:
    """Count a try; how long it has to wait instead, if it comes too early."""
    with database_of(request).writing() as db:
        wait = count(db, under, at)
    request.state.wait_s = math.ceil(wait.total_seconds())
    return wait


def wait_words(wait: timedelta) -> str:
    """What somebody who tries too often is told.

    >>> wait_words(timedelta(seconds=14.2)), wait_words(timedelta(seconds=61))
    ('Too many tries. Wait 15 seconds, then try again.', 'Too many tries. Wait 2 minutes, then try again.')
    """
    seconds = math.ceil(wait.total_seconds())
    if seconds > 60:
        return f"Too many tries. Wait {math.ceil(seconds / 60)} minutes, then try again."
    return f"Too many tries. Wait {seconds} second{'s' if seconds != 1 else ''}, then try again."


def known_secret_of(request: Request) -> str:
    """The secret by which this browser is known, if it is."""
    return request.cookies.get(SECURE_KNOWN if is_https(request) else PLAIN_KNOWN) or ""


def begin_half(request: Request, db: Writing, account_id: int, at: datetime) -> str:
    """The password was right and a code is wanted: a session that opens nothing yet."""
    _refuse_switched_off(db, account_id)
    end_session(db, secret_of(request), at)
    return begin_session(db, account_id, at, waits_for_code=True)


def begin_whole(request: Request, db: Writing, account_id: int, at: datetime) -> tuple[str, str]:
    """Sign somebody in anew: the secrets of the session and of the browser as a known one."""
    _refuse_switched_off(db, account_id)
    end_session(db, secret_of(request), at)
    device = device_of(request.headers.get("user-agent", ""))
    secret = begin_session(db, account_id, at, device=device)
    keep_event(db, account_id, account_id, "signed in", at)
    return secret, make_known(db, account_id, at, known_secret_of(request))


def _refuse_switched_off(db: Writing, account_id: int) -> None:
    """The account may have been switched off since its password was looked at."""
    if not hold(db, account_id).active:
        raise NotAllowed("This account may not sign in.")


def let_wait_for_code(request: Request, answer: Response, secret: str) -> Response:
    """An answer that carries the session which waits for a code."""
    _set(request, answer, (PLAIN_COOKIE, SECURE_COOKIE), secret, CODE_WITHIN)
    return answer


def let_in(request: Request, answer: Response, secrets: tuple[str, str]) -> Response:
    """An answer that carries the new session, and by which the browser is known later; no other's secret stays."""
    _set(request, answer, (PLAIN_COOKIE, SECURE_COOKIE), secrets[0], SESSION_LASTS)
    _set(request, answer, (PLAIN_KNOWN, SECURE_KNOWN), secrets[1], KNOWN_FOR)
    forget_shown(request, answer)
    return answer


def let_out(answer: Response) -> Response:
    """An answer after which the browser has no session, nor keeps any page of it."""
    for name in (SECURE_COOKIE, PLAIN_COOKIE):
        answer.delete_cookie(name, path="/", secure=name == SECURE_COOKIE, httponly=True, samesite="lax")
    answer.headers["Clear-Site-Data"] = '"cache"'
    return answer


def _set(request: Request, answer: Response, names: tuple[str, str], secret: str, lasts: timedelta) -> None:
    https = is_https(request)
    answer.set_cookie(
        names[https],
        secret,
        max_age=int(lasts.total_seconds()),
        path="/",
        secure=https,
        httponly=True,
        samesite="lax",
    )
