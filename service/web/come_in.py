"""Where a link made by the owner leads: whoever has it sets her own password, once. Looking at it changes nothing."""

from typing import Annotated

from fastapi import APIRouter, Depends
from fastapi.responses import Response

from service.errors import NotFound, TooMany, Unreadable
from service.records.db import Database
from service.studio import ways_in
from service.studio.passwords import hash_of
from service.studio.tries import Counted, forgive
from service.web.deps import AnyDesk, Desk, Now, the_database
from service.web.doorway import by_address, has_to_wait, wait_words
from service.web.forms import Form, Typed
from service.web.window_visit import unseen

router = APIRouter(include_in_schema=False, prefix="/come-in")
Base = Annotated[Database, Depends(the_database)]
LONGEST = 100


@router.get("/{secret}")
def show_door(desk: AnyDesk, database: Base, at: Now, secret: str) -> Response:
    return _opened(desk, database, Form(), (secret[:LONGEST], 200), at)


@router.post("/{secret}")
def set_password(desk: AnyDesk, form: Typed, database: Base, at: Now, secret: str) -> Response:
    password = form.values.get("password", "")
    under = [by_address(desk.request)]
    if wait := has_to_wait(desk.request, under, at):
        raise TooMany(wait_words(wait))
    try:
        with database.reading() as db:
            opened = ways_in.open_way_in(db, secret[:LONGEST], at)
            ways_in.check_new_password(db, opened, password)
        hashed = hash_of(password)
        with database.writing(opened.account_id) as writes:
            ways_in.use_way_in(writes, opened, hashed, at)
            forgive(writes, [Counted("name", opened.email)], under)
    except Unreadable as refused:
        form.errors = dict(refused.faults)
        return _opened(desk, database, form, (secret[:LONGEST], 422), at)
    except NotFound:
        return _not_good(desk)
    return unseen(desk.go("/login"), secret_address=True)


def _opened(desk: Desk, database: Database, form: Form, told: tuple[str, int], at: Now) -> Response:
    secret, status = told
    try:
        with database.reading() as db:
            opened = ways_in.open_way_in(db, secret, at)
    except NotFound:
        return _not_good(desk)
    page = desk.page("account/come_in.html", "", status=status, person=None, form=form, opened=opened, secret=secret)
    return unseen(page, secret_address=True)


def _not_good(desk: Desk) -> Response:
    return unseen(desk.page("account/not_good.html", "", status=404, person=None), secret_address=True)
