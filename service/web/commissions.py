"""Pages of commissions: what is asked for and for which day. The owner's alone."""

from datetime import date, timedelta
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Query
from fastapi.responses import Response
from pydantic import BaseModel
from sqlmodel import col, select

from service.records.db import Reading, Writing
from service.records.queries.commissions import PAGE, commissions_by_day, every_commission
from service.records.tables import Client, Commission
from service.records.tables.commissions import SEXES
from service.studio import clients, commissions
from service.studio.quotes import agreed_day
from service.web.again import OWNER_AFTER_PROOF
from service.web.api_reckon_making import Day
from service.web.as_seen import held, is_as_seen, marked
from service.web.books_words import minutes
from service.web.csv_out import as_csv
from service.web.deps import Desk, Id, Now, Owner, OwnerDesk, Reads, Writes
from service.web.forms import Form, Typed
from service.web.promised import promised_for

router = APIRouter(include_in_schema=False, prefix="/commissions")
LONGEST_UNBORN = timedelta(days=308)  # 44 weeks, the most that the weeks at birth may be
FILLED_IN = {"client", "title", "wanted_on"}
api = APIRouter(prefix="/api", tags=["commissions"])


class CommissionOut(BaseModel):
    """One commission."""

    id: int
    title: str
    client: str
    wanted_on: date
    state: str
    garments: int


@api.get("/commissions")
def list_commissions(
    _owner: Owner,
    db: Reads,
    after_day: Day | None = None,
    after_id: Annotated[int, Query(ge=0, le=2_147_483_647)] = 0,
) -> list[CommissionOut]:
    """Open commissions by the day they are wanted, fifty at a time."""
    after = None if after_day is None else (after_day, after_id)
    return [
        CommissionOut(
            id=line.id,
            title=line.title,
            client=line.client,
            wanted_on=line.wanted_on,
            state=line.state,
            garments=line.garments,
        )
        for line in commissions_by_day(db, after=after)[:PAGE]
    ]


@router.get("")
def show_commissions(desk: OwnerDesk, db: Reads, q: str = "", over: bool = False, after: str = "") -> Response:
    lines = commissions_by_day(db, q[:200], over=over, after=_after(after))
    further = lines[PAGE - 1] if len(lines) > PAGE else None
    return desk.page(
        "commissions/commissions.html",
        "commissions",
        block="found",
        lines=lines[:PAGE],
        further="" if further is None else f"{further.wanted_on.isoformat()},{further.id}",
        q=q,
        over=over,
        today=desk.today,
    )


@router.get("/list.csv", dependencies=[OWNER_AFTER_PROOF])
def commissions_file(_desk: OwnerDesk, db: Reads) -> Response:
    rows = [
        (line.id, line.title, line.client, line.wanted_on, line.state, line.garments, minutes(line.left_ms // 1000))
        for line in every_commission(db)
    ]
    heads = ("number", "commission", "client", "wanted on", "state", "garments", "minutes left by the guesses")
    return as_csv("commissions", heads, rows)


@router.get("/new")
def show_new_commission(desk: OwnerDesk, db: Reads) -> Response:
    known = {
        name: value for name, value in desk.request.query_params.items() if name in FILLED_IN or _is_for_making(name)
    }
    return _form_page(desk, db, Form(known), None)


@router.post("")
def add_commission(desk: OwnerDesk, form: Typed, db: Writes, at: Now) -> Response:
    facts = _facts(desk, db, form, None)
    if facts is None:
        return _form_page(desk, db, form, None, 422)
    commission = commissions.add_commission(db, facts, at)
    making = {name: value for name, value in form.values.items() if _is_for_making(name)}
    return desk.go(f"/commissions/{commission.id}" + (f"/make?{urlencode(making)}" if making else ""))


def _is_for_making(name: str) -> bool:
    """Whether a field says what is to be made: it is handed on to the page on which that is chosen."""
    return name == "design" or name.startswith("cloth.")


@router.get("/{commission_id}")
def show_commission(desk: OwnerDesk, db: Reads, commission_id: Id) -> Response:
    return _page(desk, db, commissions.commission_with(db, commission_id), Form())


@router.get("/{commission_id}/change")
def show_change_commission(desk: OwnerDesk, db: Reads, commission_id: Id) -> Response:
    commission = commissions.commission_with(db, commission_id)
    return _form_page(desk, db, marked(_filled(commission)), commission)


@router.post("/{commission_id}/change")
def change_commission(desk: OwnerDesk, form: Typed, db: Writes, commission_id: Id) -> Response:
    commission = commissions.commission_with(db, commission_id)
    facts = _facts(desk, db, form, commission)
    if facts is None:
        return _form_page(desk, db, form, commission, 422)
    if not is_as_seen(form, _filled(held(db, commission))):
        return _form_page(desk, db, form, commission, 409)
    is_moved = commission.wanted_on != facts.wanted_on and agreed_day(db, commission_id) is not None
    commissions.change_commission(db, commission_id, facts)
    return desk.go(f"/commissions/{commission_id}{'#money' if is_moved else ''}")


@router.post("/{commission_id}/move")
def move_commission(desk: OwnerDesk, form: Typed, db: Writes, at: Now, owner: Owner, commission_id: Id) -> Response:
    commissions.move_commission(db, commission_id, form.raw("state"), owner.id, at)
    return desk.go(f"/commissions/{commission_id}")


@router.post("/{commission_id}/call-off")
def call_commission_off(desk: OwnerDesk, form: Typed, db: Writes, at: Now, owner: Owner, commission_id: Id) -> Response:
    commission = commissions.commission_with(db, commission_id)
    reason = form.text("reason", called="the reason", most=1000)
    if form.wrong:
        return _page(desk, db, commission, form, 422)
    commissions.call_commission_off(db, commission_id, reason, owner.id, at)
    return desk.go(f"/commissions/{commission_id}")


def _page(desk: Desk, db: Reading | Writing, commission: Commission, form: Form, status: int = 200) -> Response:
    assert commission.id is not None
    return desk.page(
        "commissions/commission.html",
        "commissions",
        status=status,
        commission=commission,
        client=clients.client_with(db, commission.client_id),
        garments=commissions.garments_of(db, commission.id),
        next_states=commissions.NEXT_STATES.get(commission.state, ()),
        promised=promised_for(db, commission.id, desk.today),
        form=form,
        today=desk.today,
    )


def _form_page(
    desk: Desk, db: Reading | Writing, form: Form, commission: Commission | None, status: int = 200
) -> Response:
    kept = select(Client.id, Client.name).where(col(Client.put_away).is_(False)).order_by(col(Client.name)).limit(1000)
    options = [("", "Choose a client"), *((number, name) for number, name in db.exec(kept))]
    return desk.page(
        "commissions/commission_form.html",
        "commissions",
        status=status,
        form=form,
        commission=commission,
        clients=options,
    )


def _facts(desk: Desk, db: Writing, form: Form, kept: Commission | None) -> commissions.CommissionFacts | None:
    client_id = form.number_of("client", called="a client")
    if client_id is not None and db.get(Client, client_id) is None:
        form.fault("client", "Choose a client.")
    title = form.text("title", called="what it is called")
    occasion = form.text("occasion", called="the occasion", needed=False)
    wanted_on = form.day("wanted_on", called="the day it is wanted")
    sex = form.choice("child_sex", SEXES, called="girl or boy", needed=False) or None
    born = form.day("child_born", called="the day of birth", needed=False)
    is_due = form.ticked("born_is_due")
    if is_due and born is None:
        form.fault("child_born", "Enter the day the child is due, or untick that it is not born yet.")
    _check_days(form, desk.today, wanted_on if kept is None or kept.wanted_on != wanted_on else None, born)
    weeks = form.whole("gestation_weeks", called="the weeks at birth", least=22, most=44, needed=False)
    notes = form.text("notes", called="the notes", most=10_000, needed=False)
    if form.wrong or client_id is None or wanted_on is None:
        return None
    return commissions.CommissionFacts(client_id, title, occasion, wanted_on, sex, born, is_due, weeks, notes)


def _check_days(form: Form, today: date, wanted_on: date | None, born: date | None) -> None:
    """Refuse days that cannot be, and ask once of a day newly typed that is over already."""
    is_due = form.ticked("born_is_due")
    if born is not None and not is_due and born > today:
        form.fault("child_born", "This day is still to come. Correct it, or tick that the child is not born yet.")
    if born is not None and is_due and born > today + LONGEST_UNBORN:
        form.fault("child_born", "No child is due as late as that. Correct the day.")
    if wanted_on is not None and wanted_on < today and not form.ticked("is_over"):
        form.fault("wanted_on", "This day is over. Correct it, or tick that it is written down afterwards.")
    if wanted_on is not None and born is not None and not is_due and wanted_on < born <= today:
        form.fault("wanted_on", "The child was born after this day. Correct one of the two.")


def _filled(commission: Commission) -> Form:
    return Form(
        {
            "client": str(commission.client_id),
            "title": commission.title,
            "occasion": commission.occasion,
            "wanted_on": commission.wanted_on.isoformat(),
            "child_sex": commission.child_sex or "",
            "child_born": commission.child_born.isoformat() if commission.child_born else "",
            "born_is_due": "yes" if commission.born_is_due else "",
            "gestation_weeks": str(commission.gestation_weeks or ""),
            "notes": commission.notes,
        }
    )


def _after(text: str) -> tuple[date, int] | None:
    day, _, number = text.partition(",")
    try:
        return date.fromisoformat(day), int(number[:9])
    except ValueError:
        return None
