"""The first page of an empty studio: it makes the owner's account, from the machine itself or with a code."""

import ipaddress
import secrets

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from service.errors import NotAllowed, TooMany
from service.languages.spoken import KEY, LANGUAGES, language_now
from service.records.tables import Studio
from service.records.tables.studio import LENGTH_UNITS
from service.studio import sign_in
from service.studio.passwords import fault_of
from service.studio.tries import Counted, count
from service.web import manner
from service.web.deps import AnyDesk, Desk, Now, Writes
from service.web.doorway import begin_whole, by_address, let_in, wait_words
from service.web.forms import Form, Typed
from service.web.guard import host_of
from service.web.offered import codes, currencies, time_zones

router = APIRouter(include_in_schema=False)
FIRST_RUN = Counted("first run", "")
USUAL_ZONE = "Europe/London"
USUAL_CURRENCY = "EUR"


@router.get("/first-run")
def show_first_run(desk: AnyDesk) -> Response:
    if desk.studio is not None:
        return desk.go("/")
    return _first_run_page(desk, Form({"language": language_now()}))


@router.post("/first-run")
def open_studio(desk: AnyDesk, form: Typed, db: Writes, at: Now) -> Response:
    if desk.studio is not None:
        return desk.go("/")
    if not _is_from_this_machine(desk.request):
        if wait := count(db, [FIRST_RUN, by_address(desk.request)], at):
            raise TooMany(wait_words(wait))
        code = desk.request.app.state.first_run_code
        if not code or not secrets.compare_digest(form.raw("code").encode(), code.encode()):
            form.fault("code", "Enter the code that the service printed when it was started.")
    studio = Studio(
        name=form.text("studio_name", called="the studio's name"),
        time_zone=form.choice("time_zone", codes(time_zones()), called="a time zone", needed=False) or USUAL_ZONE,
        currency=form.choice("currency", codes(currencies()), called="a currency", needed=False) or USUAL_CURRENCY,
        length_unit=form.choice("length_unit", LENGTH_UNITS, called="a unit of length", needed=False) or "cm",
        count_unit=form.choice("count_unit", LENGTH_UNITS, called="how threads are counted", needed=False) or "cm",
        language=form.choice("language", LANGUAGES, called="a language", needed=False) or KEY,
        created_at=at,
    )
    password = form.values.get("password", "")
    owner = sign_in.NewOwner(form.text("name", called="your name"), form.email("email"), password)
    if fault := fault_of(password, (owner.name, owner.email, studio.name)):
        form.fault("password", fault)
    if form.wrong:
        return _first_run_page(desk, form, 422)
    studio.numbers = manner.usual_in(studio.language)
    account = sign_in.make_first_owner(db, studio, owner, at)
    assert account.id is not None
    return let_in(
        desk.request, RedirectResponse("/first-run/money", 303), begin_whole(desk.request, db, account.id, at)
    )


def _first_run_page(desk: Desk, form: Form, status: int = 200) -> Response:
    here = _is_from_this_machine(desk.request)
    if not here and not desk.request.app.state.first_run_code:
        raise NotAllowed("Open this studio first from the machine it runs on, at http://127.0.0.1.")
    return desk.page(
        "people/first_run.html",
        "",
        status=status,
        form=form,
        languages=tuple(LANGUAGES.items()),
        ask_code=not here,
    )


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
