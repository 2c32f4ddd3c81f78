"""Signing in again before what could do harm: money, accounts, taking data out, erasing.

A route that asks for `AFTER_PROOF` is done when the password was given in this browser within the last quarter of an
hour. Else the page that asks for it is shown: it carries all that was typed on, and sends it with the password to the
same address, so that one press proves and does it. A second step is asked for where one is set. What was typed when the
session itself had ended is carried through signing in in the same way.
"""

import json
from datetime import datetime
from typing import Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from service.errors import NotAllowed
from service.studio import sessions
from service.studio.second_step import NOT_RIGHT, takes_code
from service.studio.sign_in import Browser, Person, is_password_of
from service.studio.tries import Counted, forgive
from service.web.deps import (
    SECOND_STEP,
    Now,
    SecondStepNeeded,
    SignedInDesk,
    Visit,
    database_of,
    owner_person,
    signed_in_person,
    visit,
)
from service.web.doorway import has_to_wait, inside, wait_words
from service.web.forms import Form, Typed, read_form
from service.web.problems import problem, wants_json
from service.web.render import render

router = APIRouter(include_in_schema=False)
PASSWORD, CODE = "proof_password", "proof_code"
PLAIN_FORM = "application/x-www-form-urlencoded"
IN_ANOTHER_WINDOW = "What you typed is still here: sign in in another window, then send it again."


class ProofNeeded(Exception):
    """The password is to be given again first; `form` holds what was wrong with it, if it was given."""

    def __init__(self, form: Form, status: int) -> None:
        super().__init__("Sign in again first.")
        self.form = form
        self.status = status


def prove_here(request: Request, browser: Browser, form: Form, at: datetime) -> int:
    """Check the password (and code) in the form: 200 and written down, or the status with the faults in the form."""
    under = [Counted("proof", str(browser.id))]
    database = database_of(request)
    if not form.values.get(PASSWORD):
        form.fault(PASSWORD, "Enter your password.")
    if browser.has_second_step and not form.raw(CODE):
        form.fault(CODE, "Enter the code that your phone shows.")
    if form.wrong:
        return 422
    if wait := has_to_wait(request, under, at):
        form.fault(PASSWORD, wait_words(wait))
        return 429
    with database.reading() as db:
        is_right = is_password_of(db, browser.person.email, form.values[PASSWORD]) == browser.person.id
    if not is_right:
        form.fault(PASSWORD, "That is not your password.")
        return 422
    with database.writing(browser.person.id) as writes:
        if browser.has_second_step and not takes_code(writes, browser.person.id, form.raw(CODE), at):
            form.fault(CODE, NOT_RIGHT)
            return 422
        forgive(writes, under)
        sessions.prove(writes, browser.id, at)
    return 200


def _proved(request: Request, seen: Visit, form: Form, at: datetime) -> None:
    browser = seen.browser
    if browser is None:
        raise NotAllowed("This wants somebody signed in, in a browser.")
    if browser.is_fresh(at):
        return
    if PASSWORD not in form.values:
        raise ProofNeeded(Form(), 401)
    asked = Form({name: form.values.get(name, "") for name in (PASSWORD, CODE)})
    status = prove_here(request, browser, asked, at)
    if status != 200:
        raise ProofNeeded(asked, status)


def proved_owner(
    request: Request,
    seen: Annotated[Visit, Depends(visit)],
    _owner: Annotated[Person, Depends(owner_person)],
    form: Typed,
    at: Now,
) -> None:
    """The owner, who gave the password lately."""
    _proved(request, seen, form, at)


def proved_person(
    request: Request,
    seen: Annotated[Visit, Depends(visit)],
    _person: Annotated[Person, Depends(signed_in_person)],
    form: Typed,
    at: Now,
) -> None:
    """Somebody signed in, who gave the password lately."""
    _proved(request, seen, form, at)


OWNER_AFTER_PROOF = Depends(proved_owner)
AFTER_PROOF = Depends(proved_person)


@router.post("/account/again")
def prove_and_go_on(desk: SignedInDesk, form: Typed, at: Now, seen: Annotated[Visit, Depends(visit)]) -> Response:
    """For what is only looked at or taken out: prove, then on to it."""
    assert seen.browser is not None
    asked = Form({name: form.values.get(name, "") for name in (PASSWORD, CODE)})
    status = prove_here(desk.request, seen.browser, asked, at)
    then = inside(form.raw("then"))
    if status == 200:
        return desk.go(then)
    return _page(desk.request, seen, asked, status, ("/account/again", [("then", then)]))


def ask_again(request: Request, error: Exception) -> Response:
    """The page that asks for the password, with all that was typed."""
    assert isinstance(error, ProofNeeded)
    here = str(request.url.path) + (f"?{request.url.query}" if request.url.query else "")
    if request.method == "GET":
        kept = ("/account/again", [("then", here)])
    else:
        typed: list[tuple[str, str]] = getattr(request.state, "typed", [])
        kept = (here, [(name, value) for name, value in typed if name not in {PASSWORD, CODE}])
    return _page(request, visit(request), error.form, error.status, kept)


def _frame(request: Request, seen: Visit) -> dict[str, Any]:
    return {"person": seen.person, "studio": seen.studio, "area": "", "path": request.url.path, "notice": ""}


def _page(request: Request, seen: Visit, form: Form, status: int, kept: tuple[str, list[tuple[str, str]]]) -> Response:
    assert seen.browser is not None
    context = {
        **_frame(request, seen),
        "form": form,
        "action": kept[0],
        "kept": kept[1],
        "asks_code": seen.browser.has_second_step,
        "changes": request.method != "GET" and kept[0] != "/account/again",
    }
    return HTMLResponse(render("account/again.html", context), status)


async def sign_in_first(request: Request) -> Response:
    """Nobody is signed in: the page of signing in, which carries what was typed when a form was sent."""
    here = str(request.url.path) + (f"?{request.url.query}" if request.url.query else "")
    plain = request.headers.get("content-type", "").partition(";")[0].strip().lower() == PLAIN_FORM
    if "hx-request" in request.headers:
        return _part_without_sign_in(request)
    if request.method != "POST" or not plain:
        return RedirectResponse(f"/login?next={quote(here)}", 303)
    await read_form(request)
    typed: list[tuple[str, str]] = request.state.typed
    kept = "" if any("password" in name for name, _ in typed) else json.dumps(typed)
    shown = {"form": Form(), "next": "/", "kept": kept, "kept_for": here}
    context = _frame(request, Visit(None, visit(request).studio)) | shown
    return HTMLResponse(render("people/login.html", context), 401)


def _part_without_sign_in(request: Request) -> Response:
    """A part of a page was asked for: what is only looked at is loaded anew, what was sent stays as it stands."""
    if request.method == "GET":
        return Response(status_code=204, headers={"HX-Refresh": "true"})
    shown = {"status": 401, "sentence": "You were signed out meanwhile", "next_step": IN_ANOTHER_WINDOW}
    return HTMLResponse(render("fault.html", _frame(request, Visit(None, None)) | shown), 401)


def second_step_first(request: Request, error: Exception) -> Response:
    """She has to set her second step before anything else."""
    assert isinstance(error, SecondStepNeeded)
    if wants_json(request.url.path):
        return problem(error.status, error.title, error.sentence)
    return RedirectResponse(SECOND_STEP, 303)


def kept_fields(kept: str) -> list[tuple[str, str]]:
    """The fields that the page of signing in carried, as they were typed; none if they cannot be read.

    >>> kept_fields('[["name", "Ivy"]]'), kept_fields("[1]"), kept_fields("")
    ([('name', 'Ivy')], [], [])
    """
    try:
        return [(str(name), str(value)) for name, value in json.loads(kept or "[]")]
    except (ValueError, TypeError):
        return []
