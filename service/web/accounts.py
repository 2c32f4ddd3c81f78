"""The owner's pages of everybody's accounts: where each is signed in, second steps, links that set a password."""

from fastapi import APIRouter
from fastapi.responses import Response
from markupsafe import Markup
from sqlmodel import col, select

from service.errors import Conflict, NotFound
from service.papers.qr import qr_svg
from service.records.db import Reading, Writing
from service.records.tables import Account, Studio
from service.studio import second_step, sessions, ways_in
from service.web.account import BrowserHere, signed_in_at
from service.web.again import OWNER_AFTER_PROOF
from service.web.deps import Desk, Id, Now, Owner, OwnerDesk, Reads, Writes, whole_address
from service.web.forms import Form, Typed
from service.web.shown_once import lead_to, shown_here
from service.web.window_visit import is_of_this_machine

router = APIRouter(include_in_schema=False, prefix="/settings/accounts")
LASTS = {"invite": "three days", "reset": "three hours"}


@router.get("")
def show_accounts(desk: OwnerDesk, db: Reads, at: Now) -> Response:
    found = db.exec(select(Account).order_by(col(Account.active).desc(), col(Account.name), col(Account.id))).all()
    lacking = {account.id for account in second_step.accounts_without(db)}
    waiting = ways_in.links_waiting(db, at)
    open_in = sessions.open_counts(db, at)
    rows = [
        (one, one.active and one.id not in lacking, open_in.get(one.id, 0), waiting.get(one.id))
        for one in found
        if one.id is not None
    ]
    return desk.page("account/accounts.html", "settings", rows=rows)


@router.post("/second-step", dependencies=[OWNER_AFTER_PROOF])
def ask_everybody(desk: OwnerDesk, form: Typed, db: Writes, here: BrowserHere, at: Now) -> Response:
    needed = form.ticked("needed")
    if needed and not here.has_second_step:
        raise Conflict("Set your own second step first, then ask everybody for theirs.")
    studio = db.get_one(Studio, 1)
    studio.second_step_needed = needed
    db.add(studio)
    action = "second step asked of everybody" if needed else "second step left to everybody"
    sessions.keep_event(db, here.person.id, here.person.id, action, at)
    return desk.go("/settings/accounts")


@router.get("/{account_id}")
def show_one(desk: OwnerDesk, db: Reads, at: Now, account_id: Id) -> Response:
    return _page(desk, db, account_id, at)


@router.post("/{account_id}/link", dependencies=[OWNER_AFTER_PROOF])
def make_link(desk: OwnerDesk, owner: Owner, db: Writes, at: Now, account_id: Id) -> Response:
    return lead_to_link(desk, db, sessions.account_with(db, account_id), "reset", owner.id, at)


@router.get("/{account_id}/link")
def show_link(desk: OwnerDesk, db: Reads, at: Now, account_id: Id) -> Response:
    account, secret = sessions.account_with(db, account_id), shown_here(desk)
    try:
        kind = ways_in.open_way_in(db, secret, at).kind
    except NotFound:
        return desk.go(f"/settings/accounts/{account_id}")
    link = whole_address(desk.request, f"come-in/{secret}")
    answer = desk.page(
        "account/way_in.html",
        "settings",
        account=account,
        kind=kind,
        link=link,
        lasts=LASTS[kind],
        here_only=is_of_this_machine(link),
        picture=Markup(qr_svg(link, f"The link for {account.name}")),  # noqa: S704 (drawn by us, its words escaped)
    )
    answer.headers["Referrer-Policy"] = "no-referrer"
    return answer


@router.post("/{account_id}/link/withdraw")
def withdraw_link(desk: OwnerDesk, owner: Owner, db: Writes, at: Now, account_id: Id) -> Response:
    sessions.account_with(db, account_id)
    ways_in.withdraw(db, account_id, owner.id, at)
    return desk.go(f"/settings/accounts/{account_id}")


@router.post("/{account_id}/sessions/{session_id}/end")
def end_session(desk: OwnerDesk, owner: Owner, db: Writes, at: Now, account_id: Id, session_id: Id) -> Response:
    sessions.end_one(db, account_id, session_id, owner.id, at)
    return desk.go(f"/settings/accounts/{account_id}")


@router.post("/{account_id}/sessions/end-all")
def end_sessions(desk: OwnerDesk, here: BrowserHere, db: Writes, at: Now, account_id: Id) -> Response:
    sessions.account_with(db, account_id)
    if sessions.end_all(db, account_id, at, but=here.id):
        sessions.keep_event(db, here.person.id, account_id, "signed out everywhere", at)
    return desk.go(f"/settings/accounts/{account_id}")


@router.post("/{account_id}/tokens/{token_id}/end")
def end_token(desk: OwnerDesk, owner: Owner, db: Writes, at: Now, account_id: Id, token_id: Id) -> Response:
    sessions.end_token(db, account_id, token_id, owner.id, at)
    return desk.go(f"/settings/accounts/{account_id}")


@router.post("/{account_id}/second-step/turn-off", dependencies=[OWNER_AFTER_PROOF])
def turn_second_step_off(desk: OwnerDesk, owner: Owner, db: Writes, at: Now, account_id: Id) -> Response:
    sessions.account_with(db, account_id)
    if account_id == owner.id:
        raise Conflict("Turn your own second step off on your own page, with its code.")
    second_step.turn_off(db, account_id, owner.id, at)
    sessions.end_all(db, account_id, at)
    return desk.go(f"/settings/accounts/{account_id}")


def lead_to_link(desk: Desk, db: Writing, account: Account, kind: str, made_by_id: int, at: Now) -> Response:
    """Make a link that sets a password, and lead on to the page that shows it: the book keeps no secret."""
    assert account.id is not None
    secret = ways_in.make_way_in(db, account.id, made_by_id, kind, at)
    return lead_to(desk, f"/settings/accounts/{account.id}/link", secret)


def _page(desk: Desk, db: Reading, account_id: int, at: Now) -> Response:
    account = sessions.account_with(db, account_id)
    return desk.page(
        "account/one_account.html",
        "settings",
        form=Form(),
        account=account,
        has_step=second_step.has_second_step(db, account_id),
        link=ways_in.links_waiting(db, at).get(account_id),
        **signed_in_at(db, account_id, at),
    )
