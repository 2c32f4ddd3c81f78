"""One's own account: where one is signed in, the password, the tokens of scripts."""

from typing import Annotated, Any

from fastapi import APIRouter, Depends
from fastapi.responses import Response

from service.errors import NotAllowed
from service.records.db import Database, Reading, Writing
from service.studio import sessions
from service.studio.passwords import fault_of, hash_of
from service.studio.second_step import codes_left
from service.studio.sign_in import Browser, is_password_of, names_known
from service.studio.tries import Counted, forgive
from service.web.deps import (
    Desk,
    Id,
    Now,
    Reads,
    SignedIn,
    SignedInDesk,
    Visit,
    Writes,
    the_database,
    visit,
)
from service.web.doorway import has_to_wait, wait_words
from service.web.forms import Form, Typed

router = APIRouter(include_in_schema=False, prefix="/account")
Base = Annotated[Database, Depends(the_database)]


def browser_here(seen: Annotated[Visit, Depends(visit)], _person: SignedIn) -> Browser:
    """The signed-in browser that asks."""
    if seen.browser is None:
        raise NotAllowed("This wants somebody signed in, in a browser.")
    return seen.browser


BrowserHere = Annotated[Browser, Depends(browser_here)]


@router.get("")
def show_account(desk: SignedInDesk, db: Reads, here: BrowserHere, at: Now) -> Response:
    return _page(desk, db, here, Form({"others": "yes"}), at)


@router.post("/password")
def change_password(desk: SignedInDesk, form: Typed, database: Base, here: BrowserHere, at: Now) -> Response:
    me, new = here.person, form.values.get("password", "")
    with database.reading() as db:
        if fault := fault_of(new, names_known(db, me.name, me.email)):
            form.fault("password", fault)
    status = 422
    under = [Counted("proof", str(here.id))]
    if not form.wrong and (wait := has_to_wait(desk.request, under, at)):
        form.fault("old", wait_words(wait))
        status = 429
    if not form.wrong:
        with database.reading() as db:
            if is_password_of(db, me.email, form.values.get("old", "")) != me.id:
                form.fault("old", "That is not your password now.")
    if form.wrong:
        with database.reading() as db:
            return _page(desk, db, here, form, at, status)
    hashed = hash_of(new)
    with database.writing(me.id) as writes:
        forgive(writes, under)
        account = sessions.account_with(writes, me.id)
        account.password_hash = hashed
        writes.add(account)
        sessions.prove(writes, here.id, at)
        if form.ticked("others"):
            sessions.end_all(writes, me.id, at, but=here.id)
        sessions.keep_event(writes, me.id, me.id, "password changed", at)
    return desk.go("/account?changed=yes")


@router.post("/sessions/{session_id}/end")
def end_one_session(desk: SignedInDesk, db: Writes, here: BrowserHere, at: Now, session_id: Id) -> Response:
    sessions.end_one(db, here.person.id, session_id, here.person.id, at)
    return desk.go("/account#sessions")


@router.post("/sessions/end-others")
def end_other_sessions(desk: SignedInDesk, db: Writes, here: BrowserHere, at: Now) -> Response:
    if sessions.end_all(db, here.person.id, at, but=here.id):
        sessions.keep_event(db, here.person.id, here.person.id, "signed out everywhere else", at)
    return desk.go("/account#sessions")


@router.post("/tokens/{token_id}/end")
def end_one_token(desk: SignedInDesk, db: Writes, here: BrowserHere, at: Now, token_id: Id) -> Response:
    sessions.end_token(db, here.person.id, token_id, here.person.id, at)
    return desk.go("/account#tokens")


def signed_in_at(db: Reading | Writing, account_id: int, at: Now) -> dict[str, Any]:
    """What the pages of an account show of its doors."""
    return {
        "sessions": sessions.open_sessions(db, account_id, at),
        "tokens": sessions.open_tokens(db, account_id),
        "codes_left": codes_left(db, account_id),
    }


def _page(desk: Desk, db: Reading, here: Browser, form: Form, at: Now, status: int = 200) -> Response:
    changed = desk.request.query_params.get("changed") and status == 200
    return desk.page(
        "account/account.html",
        "account",
        status=status,
        form=form,
        here=here,
        notice="Your password is changed." if changed else "",
        **signed_in_at(db, here.person.id, at),
    )
