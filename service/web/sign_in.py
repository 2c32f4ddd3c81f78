"""Pages of signing in, with the password and the code of the second step, and of signing out."""

from typing import Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Depends
from fastapi.responses import RedirectResponse, Response

from service.records.db import Database, Writing
from service.studio import sign_in
from service.studio.second_step import NOT_RIGHT, has_second_step, takes_code
from service.studio.tries import Counted, forgive
from service.web.again import kept_fields
from service.web.deps import AnyDesk, Desk, Now, Writes, secret_of, the_database
from service.web.doorway import (
    begin_half,
    begin_whole,
    by_address,
    by_name,
    has_to_wait,
    inside,
    let_in,
    let_out,
    let_wait_for_code,
    wait_words,
)
from service.web.forms import Form, Typed
from service.web.shown_once import forget_shown

router = APIRouter(include_in_schema=False)
Base = Annotated[Database, Depends(the_database)]
NOT_TOGETHER = "E-mail address and password do not belong together. Check both and try again."


@router.get("/login")
def show_login(desk: AnyDesk) -> Response:
    if desk.studio is None:
        return desk.go("/first-run")
    if desk.person is not None:
        return desk.go("/")
    return _login_page(desk, Form({"next": desk.request.query_params.get("next", "/")}))


@router.post("/login")
def sign_in_here(desk: AnyDesk, form: Typed, database: Base, at: Now) -> Response:
    if desk.studio is None:
        return desk.go("/first-run")
    email = form.text("email", called="your e-mail address", most=254).lower()
    password = form.values.get("password", "")
    if not password:
        form.fault("password", "Enter your password.")
    if form.wrong:
        return _login_page(desk, form, 422)
    under = by_name(desk.request, email, at)
    if wait := has_to_wait(desk.request, under, at):
        form.fault("", wait_words(wait))
        return _login_page(desk, form, 429)
    with database.reading() as db:
        account_id = sign_in.is_password_of(db, email, password)
        asks_code = account_id is not None and has_second_step(db, account_id)
    if account_id is None:
        form.fault("", NOT_TOGETHER)
        return _login_page(desk, form, 422)
    with database.writing(account_id) as writes:
        forgive(writes, under[:1], under[1:])
        if not asks_code:
            return _welcome(desk, writes, form, account_id, at)
        secret = begin_half(desk.request, writes, account_id, at)
    # What was typed before the session ended is carried by the page itself; else Back finds a page that was asked for.
    answer = _code_page(desk, Form(_carried(form)))
    if not form.values.get("kept"):
        answer = desk.go(f"/login/code?next={quote(inside(form.raw('next') or '/'))}")
    return let_wait_for_code(desk.request, answer, secret)


@router.get("/login/code")
def show_code(desk: AnyDesk, database: Base, at: Now) -> Response:
    with database.reading() as db:
        waiting = sign_in.account_waiting(db, secret_of(desk.request), at)
    if waiting is None:
        return desk.go("/login")
    return _code_page(desk, Form({"next": desk.request.query_params.get("next", "/")}))


@router.post("/login/code")
def take_code(desk: AnyDesk, form: Typed, database: Base, at: Now) -> Response:
    with database.reading() as db:
        account_id = sign_in.account_waiting(db, secret_of(desk.request), at)
    if account_id is None:
        form.fault("", "That took too long, or was begun in another browser. Sign in once more.")
        return _login_page(desk, form, 422)
    if not form.raw("code"):
        form.fault("code", "Enter the code that your phone shows.")
        return _code_page(desk, form, 422)
    under = [Counted("code", str(account_id)), by_address(desk.request)]
    if wait := has_to_wait(desk.request, under, at):
        form.fault("code", wait_words(wait))
        return _code_page(desk, form, 429)
    with database.writing(account_id) as writes:
        if takes_code(writes, account_id, form.raw("code"), at):
            forgive(writes, under[:1], under[1:])
            return _welcome(desk, writes, form, account_id, at)
    form.fault("code", NOT_RIGHT)
    return _code_page(desk, form, 422)


@router.post("/sign-out")
def sign_out(desk: AnyDesk, db: Writes, at: Now) -> Response:
    if secret := secret_of(desk.request):
        sign_in.end_session(db, secret, at)
    answer = let_out(RedirectResponse("/login", 303))
    forget_shown(desk.request, answer)
    return answer


def _welcome(desk: Desk, db: Writing, form: Form, account_id: int, at: Now) -> Response:
    """Signed in: on to the page that was wanted, or to what was typed before the session ended."""
    secrets = begin_whole(desk.request, db, account_id, at)
    kept = kept_fields(form.values.get("kept", ""))
    answer = desk.go(inside(form.raw("next") or "/"))
    if kept:
        answer = desk.page("account/kept.html", "", action=inside(form.raw("kept_for")), kept=kept)
    return let_in(desk.request, answer, secrets)


def _carried(form: Form) -> dict[str, str]:
    return {name: form.values.get(name, "") for name in ("next", "kept", "kept_for")}


def _shown(form: Form) -> dict[str, Any]:
    return {**_carried(form), "next": inside(form.raw("next") or "/")}


def _login_page(desk: Desk, form: Form, status: int = 200) -> Response:
    return desk.page("people/login.html", "", status=status, form=form, **_shown(form))


def _code_page(desk: Desk, form: Form, status: int = 200) -> Response:
    return desk.page("account/code.html", "", status=status, form=form, **_shown(form))
