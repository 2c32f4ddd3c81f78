"""Pages of signing in and out, and the first page of an empty studio."""

import ipaddress
import secrets
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import RedirectResponse, Response
from limits import RateLimitItem, parse

from service.errors import NotAllowed, TooMany, Unreadable
from service.records.db import Database
from service.records.tables import Studio
from service.records.tables.studio import LENGTH_UNITS
from service.studio import sign_in
from service.web.deps import PLAIN_COOKIE, SECURE_COOKIE, AnyDesk, Desk, Now, Writes, secret_of, the_database
from service.web.forms import Form, Typed
from service.web.guard import host_of
from service.web.offered import codes, currencies, time_zones

router = APIRouter(include_in_schema=False)
PER_ACCOUNT = parse("10/minute")
PER_ADDRESS = parse("30/minute")


@router.get("/login")
def show_login(desk: AnyDesk) -> Response:
    if desk.studio is None:
        return desk.go("/first-run")
    if desk.person is not None:
        return desk.go("/")
    return desk.page("people/login.html", "", form=Form(), next=_inside(desk.request.query_params.get("next", "/")))


@router.post("/login")
def sign_in_here(desk: AnyDesk, form: Typed, database: Annotated[Database, Depends(the_database)], at: Now) -> Response:
    if desk.studio is None:
        return desk.go("/first-run")
    email = form.text("email", called="your e-mail address", most=254).lower()
    password = form.values.get("password", "")
    if not password:
        form.fault("password", "Enter your password.")
    if form.wrong:
        return _login_again(desk, form)
    _refuse_too_many(desk.request, email)
    with database.reading() as db:
        account_id = sign_in.is_password_of(db, email, password)
    if account_id is None:
        _count_failure(desk.request, email)
        form.fault("", "E-mail address and password do not belong together. Check both and try again.")
        return _login_again(desk, form)
    with database.writing() as writes:
        secret = sign_in.begin_session(writes, account_id, at)
    answer = RedirectResponse(_inside(form.raw("next") or "/"), 303)
    _set_cookie(desk.request, answer, secret)
    return answer


@router.post("/sign-out")
def sign_out(desk: AnyDesk, db: Writes, at: Now) -> Response:
    if secret := secret_of(desk.request):
        sign_in.end_session(db, secret, at)
    answer = RedirectResponse("/login", 303)
    for name in (SECURE_COOKIE, PLAIN_COOKIE):
        answer.delete_cookie(name, path="/", secure=name == SECURE_COOKIE, httponly=True, samesite="lax")
    answer.headers["Clear-Site-Data"] = '"cache"'
    return answer


@router.get("/first-run")
def show_first_run(desk: AnyDesk) -> Response:
    if desk.studio is not None:
        return desk.go("/")
    form = Form({"length_unit": "cm", "count_unit": "cm", "currency": "EUR", "time_zone": "Europe/London"})
    return _first_run_page(desk, form)


@router.post("/first-run")
def open_studio(desk: AnyDesk, form: Typed, db: Writes, at: Now) -> Response:
    if desk.studio is not None:
        return desk.go("/")
    if not _is_from_this_machine(desk.request):
        _refuse_too_many(desk.request, "first-run")
        code = desk.request.app.state.first_run_code
        if not code or not secrets.compare_digest(form.raw("code").encode(), code.encode()):
            _count_failure(desk.request, "first-run")
            form.fault("code", "Enter the code that the service printed when it was started.")
    studio = Studio(
        name=form.text("studio_name", called="the studio's name"),
        time_zone=form.choice("time_zone", codes(time_zones()), called="a time zone"),
        currency=form.choice("currency", codes(currencies()), called="a currency"),
        length_unit=form.choice("length_unit", LENGTH_UNITS, called="a unit of length"),
        count_unit=form.choice("count_unit", LENGTH_UNITS, called="how threads are counted"),
        created_at=at,
    )
    owner = sign_in.NewOwner(
        form.text("name", called="your name"), form.email("email"), form.values.get("password", "")
    )
    try:
        sign_in.check_password(owner.password)
    except Unreadable as refused:
        form.errors = {**form.errors, **refused.faults}
    if form.wrong:
        return _first_run_page(desk, form, 422)
    account = sign_in.make_first_owner(db, studio, owner, at)
    assert account.id is not None
    secret = sign_in.begin_session(db, account.id, at)
    answer = RedirectResponse("/", 303)
    _set_cookie(desk.request, answer, secret)
    return answer


def _first_run_page(desk: Desk, form: Form, status: int = 200) -> Response:
    here = _is_from_this_machine(desk.request)
    if not here and not desk.request.app.state.first_run_code:
        raise NotAllowed("Open this studio first from the machine it runs on, at http://127.0.0.1.")
    return desk.page(
        "people/first_run.html",
        "",
        status=status,
        form=form,
        ask_code=not here,
        zones=time_zones(),
        currencies=currencies(),
    )


def _login_again(desk: Desk, form: Form) -> Response:
    return desk.page("people/login.html", "", status=422, form=form, next=_inside(form.raw("next") or "/"))


def _inside(path: str) -> str:
    """A path of our own to go on to, never another site's."""
    return path if path.startswith("/") and not path.startswith(("//", "/\\")) else "/"


def _failed_tries(request: Request, name: str) -> list[tuple[RateLimitItem, str, str]]:
    address = request.client.host if request.client else ""
    return [(PER_ACCOUNT, "account", name), (PER_ADDRESS, "address", address)]


def _refuse_too_many(request: Request, name: str) -> None:
    if not all(request.app.state.tries.test(*counted) for counted in _failed_tries(request, name)):
        raise TooMany("Too many tries. Wait a minute, then try again.")


def _count_failure(request: Request, name: str) -> None:
    for counted in _failed_tries(request, name):
        request.app.state.tries.hit(*counted)


def _is_from_this_machine(request: Request) -> bool:
    """Whether the browser runs on this very machine; a proxy in between says that it may not."""
    forwarded = any(name in request.headers for name in ("forwarded", "x-forwarded-for", "x-real-ip", "via"))
    client = request.client.host if request.client else ""
    return not forwarded and _is_loopback(client) and _is_loopback(host_of(request.headers.get("host", "")))


def _is_loopback(host: str) -> bool:
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def _set_cookie(request: Request, answer: Response, secret: str) -> None:
    https = request.app.state.https or request.url.scheme == "https"
    answer.set_cookie(
        SECURE_COOKIE if https else PLAIN_COOKIE,
        secret,
        max_age=int(sign_in.SESSION_LASTS.total_seconds()),
        path="/",
        secure=https,
        httponly=True,
        samesite="lax",
    )
