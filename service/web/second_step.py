"""The pages of one's own second step: a picture for the phone, recovery codes, turning it off."""

from typing import Annotated

from fastapi import APIRouter, Depends
from fastapi.responses import Response
from markupsafe import Markup

from service.errors import Conflict, Unreadable
from service.papers.qr import qr_svg
from service.records.db import Database
from service.records.tables import SecondStep
from service.studio import second_step as steps
from service.studio.sessions import end_all
from service.web.account import BrowserHere
from service.web.again import AFTER_PROOF, prove_here
from service.web.deps import Desk, Now, Reads, SignedInDesk, Writes, the_database
from service.web.forms import Form, Typed
from service.web.shown_once import lead_to, shown_here

router = APIRouter(include_in_schema=False, prefix="/account/second-step")
CODES = "/account/second-step/recovery-codes"
Base = Annotated[Database, Depends(the_database)]


@router.get("")
def show_second_step(desk: SignedInDesk, here: BrowserHere) -> Response:
    return _page(desk, Form(), has_step=here.has_second_step)


@router.post("/begin", dependencies=[AFTER_PROOF])
def begin(desk: SignedInDesk, db: Writes, here: BrowserHere, at: Now) -> Response:
    steps.begin(db, here.person.id, at)
    return desk.go("/account/second-step/begin")


@router.get("/begin", dependencies=[AFTER_PROOF])
def show_picture(desk: SignedInDesk, db: Reads, here: BrowserHere) -> Response:
    step = steps.second_step_of(db, here.person.id)
    if step is None or step.confirmed_at is not None:
        return desk.go("/account/second-step")
    return _picture(desk, Form(), step, here.person.email)


@router.post("/confirm", dependencies=[AFTER_PROOF])
def confirm(desk: SignedInDesk, form: Typed, db: Writes, here: BrowserHere, at: Now) -> Response:
    try:
        codes = steps.confirm(db, here.person.id, form.raw("code"), at)
    except Unreadable as refused:
        form.errors = dict(refused.faults)
        return _picture(desk, form, steps.begin(db, here.person.id, at), here.person.email, 422)
    end_all(db, here.person.id, at, but=here.id)
    return lead_to(desk, CODES, " ".join(codes))


@router.post("/recovery-codes", dependencies=[AFTER_PROOF])
def make_recovery_codes(desk: SignedInDesk, db: Writes, here: BrowserHere, at: Now) -> Response:
    if not here.has_second_step:
        raise Conflict("Set the second step first.")
    return lead_to(desk, CODES, " ".join(steps.new_recovery_codes(db, here.person.id, at)))


@router.get("/recovery-codes")
def show_recovery_codes(desk: SignedInDesk, db: Reads, here: BrowserHere) -> Response:
    codes = steps.unused(db, here.person.id, shown_here(desk).split())
    if not codes:
        return desk.go("/account/second-step")
    return desk.page("account/recovery_codes.html", "account", codes=codes)


@router.post("/turn-off")
def turn_off(desk: SignedInDesk, form: Typed, database: Base, here: BrowserHere, at: Now) -> Response:
    if not here.has_second_step:
        return desk.go("/account/second-step")
    status = prove_here(desk.request, here, form, at)
    if status != 200:
        return _page(desk, form, status, has_step=True)
    with database.writing(here.person.id) as db:
        steps.turn_off(db, here.person.id, here.person.id, at)
    return desk.go("/account/second-step")


def _page(desk: Desk, form: Form, status: int = 200, *, has_step: bool) -> Response:
    return desk.page("account/second_step.html", "account", status=status, form=form, has_step=has_step)


def _picture(desk: Desk, form: Form, step: SecondStep, email: str, status: int = 200) -> Response:
    assert desk.studio is not None
    address = steps.address_for_phone(step, email, desk.studio.name)
    return desk.page(
        "account/second_step_picture.html",
        "account",
        status=status,
        form=form,
        picture=Markup(qr_svg(address, "The secret of your second step, for the phone")),  # noqa: S704 (drawn by us)
        secret=" ".join(step.secret[place : place + 4] for place in range(0, len(step.secret), 4)),
    )
