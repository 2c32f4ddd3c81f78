"""Pages of stitchers: the owner's list, each stitcher's record, and a stitcher's own page."""

from typing import Any

from fastapi import APIRouter
from fastapi.responses import Response
from sqlmodel import col, select

from service.errors import Conflict, NotFound, Unreadable
from service.reckoning.own_paces import own_paces
from service.records.db import Reading, Writing
from service.records.tables import Stitcher, StitcherAway
from service.records.tables.people import WEEKDAYS
from service.studio import stitchers
from service.studio.payments_to_stitchers import set_pay
from service.studio.rates import whose
from service.web.accounts import lead_to_link
from service.web.again import OWNER_AFTER_PROOF
from service.web.as_seen import held, is_as_seen, marked
from service.web.books_accounts import account_shown
from service.web.deps import Desk, Id, Now, Owner, OwnerDesk, Reads, SignedIn, SignedInDesk, Writes
from service.web.forms import Form, Typed
from service.web.learning import learning_of
from service.web.money_words import money_typed

router = APIRouter(include_in_schema=False, prefix="/stitchers")
DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


@router.get("")
def show_stitchers(desk: OwnerDesk, db: Reads, left: bool = False) -> Response:
    gone = col(Stitcher.left_on).is_not(None) if left else col(Stitcher.left_on).is_(None)
    found = db.exec(select(Stitcher).where(gone).order_by(col(Stitcher.name), col(Stitcher.id)).limit(200)).all()
    weeks = [(stitcher, sum(stitchers.minutes_of(stitcher)) * 60_000) for stitcher in found]
    return desk.page("people/stitchers.html", "people", stitchers=weeks, left=left)


@router.get("/new")
def show_new_stitcher(desk: OwnerDesk) -> Response:
    return _form_page(desk, Form(), None)


@router.post("", dependencies=[OWNER_AFTER_PROOF])
def add_stitcher(desk: OwnerDesk, form: Typed, db: Writes, at: Now) -> Response:
    facts = _facts(desk, form)
    if form.wrong:
        return _form_page(desk, form, None, 422)
    return desk.go(f"/stitchers/{stitchers.add_stitcher(db, facts, at).id}")


@router.get("/me")
def show_me(desk: SignedInDesk, db: Reads, person: SignedIn) -> Response:
    return _own_page(desk, db, _own(db, person.stitcher_id), Form())


@router.post("/me/hours")
def change_my_hours(desk: SignedInDesk, form: Typed, db: Writes, person: SignedIn) -> Response:
    me, minutes = _own(db, person.stitcher_id), minutes_from(form)
    if form.wrong:
        return _own_page(desk, db, me, form, 422)
    assert me.id is not None
    stitchers.change_hours(db, me.id, minutes)
    return desk.go("/stitchers/me")


@router.post("/me/away")
def add_my_days_away(desk: SignedInDesk, form: Typed, db: Writes, person: SignedIn) -> Response:
    me = _own(db, person.stitcher_id)
    assert me.id is not None
    if not _add_away(form, db, me.id):
        return _own_page(desk, db, me, form, 422)
    return desk.go("/stitchers/me")


@router.post("/me/away/{away_id}/remove")
def remove_my_days_away(desk: SignedInDesk, db: Writes, person: SignedIn, away_id: Id) -> Response:
    me = _own(db, person.stitcher_id)
    assert me.id is not None
    _may_undo(desk, stitchers.remove_days_away(db, me.id, away_id), "/stitchers/me/away")
    return desk.go("/stitchers/me")


@router.get("/{stitcher_id}")
def show_stitcher(desk: OwnerDesk, db: Reads, stitcher_id: Id) -> Response:
    return _page(desk, db, stitchers.stitcher_with(db, stitcher_id), Form())


@router.get("/{stitcher_id}/change")
def show_change_stitcher(desk: OwnerDesk, db: Reads, stitcher_id: Id) -> Response:
    stitcher = stitchers.stitcher_with(db, stitcher_id)
    return _form_page(desk, marked(_filled(desk, stitcher)), stitcher)


@router.post("/{stitcher_id}/change", dependencies=[OWNER_AFTER_PROOF])
def change_stitcher(desk: OwnerDesk, owner: Owner, form: Typed, db: Writes, at: Now, stitcher_id: Id) -> Response:
    stitcher, facts = stitchers.stitcher_with(db, stitcher_id), _facts(desk, form)
    counts_from = form.day("pay_from", called="the day from which the pay counts", needed=False) or desk.today
    if form.wrong:
        return _form_page(desk, form, stitcher, 422)
    if not is_as_seen(form, _filled(desk, held(db, stitcher))):
        return _form_page(desk, form, stitcher, 409)
    set_pay(db, stitcher_id, facts.pay_minor_per_hour, counts_from, owner.id, at)
    stitchers.change_stitcher(db, stitcher_id, facts)
    return desk.go(f"/stitchers/{stitcher_id}")


@router.post("/{stitcher_id}/away")
def add_days_away(desk: OwnerDesk, form: Typed, db: Writes, stitcher_id: Id) -> Response:
    stitcher = stitchers.stitcher_with(db, stitcher_id)
    if not _add_away(form, db, stitcher_id):
        return _page(desk, db, stitcher, form, 422)
    return desk.go(f"/stitchers/{stitcher_id}")


@router.post("/{stitcher_id}/away/{away_id}/remove")
def remove_days_away(desk: OwnerDesk, db: Writes, stitcher_id: Id, away_id: Id) -> Response:
    _may_undo(desk, stitchers.remove_days_away(db, stitcher_id, away_id), f"/stitchers/{stitcher_id}/away")
    return desk.go(f"/stitchers/{stitcher_id}")


@router.post("/{stitcher_id}/account", dependencies=[OWNER_AFTER_PROOF])
def let_stitcher_sign_in(desk: OwnerDesk, form: Typed, owner: Owner, db: Writes, at: Now, stitcher_id: Id) -> Response:
    stitcher = stitchers.stitcher_with(db, stitcher_id)
    email = form.email("email")
    if not form.wrong:
        try:
            account = stitchers.let_sign_in(db, stitcher_id, email, at)
            return lead_to_link(desk, db, account, "invite", owner.id, at)
        except Unreadable as refused:
            form.errors = dict(refused.faults)
    return _page(desk, db, stitcher, form, 422)


@router.post("/{stitcher_id}/account/switch", dependencies=[OWNER_AFTER_PROOF])
def switch_stitcher_account(desk: OwnerDesk, form: Typed, db: Writes, at: Now, stitcher_id: Id) -> Response:
    stitchers.switch_account(db, stitcher_id, active=form.ticked("active"), at=at)
    return desk.go(f"/stitchers/{stitcher_id}")


@router.post("/{stitcher_id}/leave", dependencies=[OWNER_AFTER_PROOF])
def let_stitcher_go(desk: OwnerDesk, form: Typed, db: Writes, at: Now, owner: Owner, stitcher_id: Id) -> Response:
    stitcher = stitchers.stitcher_with(db, stitcher_id)
    on = form.day("left_on", called="the day she left")
    if on is None:
        return _page(desk, db, stitcher, form, 422)
    try:
        stitchers.let_go(db, stitcher_id, on, owner.id, at)
    except Conflict as refused:
        form.fault("left_on", refused.sentence)
        return _page(desk, db, stitcher, form, 409)
    return desk.go(f"/stitchers/{stitcher_id}")


@router.post("/{stitcher_id}/return")
def take_stitcher_back(desk: OwnerDesk, db: Writes, stitcher_id: Id) -> Response:
    stitchers.take_back(db, stitcher_id)
    return desk.go(f"/stitchers/{stitcher_id}")


def _own(db: Reading | Writing, stitcher_id: int | None) -> Stitcher:
    if stitcher_id is None:
        raise NotFound("You have no stitcher's page of your own.")
    return stitchers.stitcher_with(db, stitcher_id)


def _own_page(desk: Desk, db: Reading | Writing, me: Stitcher, form: Form, status: int = 200) -> Response:
    shown = form if form.wrong else Form(hours_as_typed(me))
    assert me.id is not None
    books = account_shown(db, me.id)
    return desk.page("people/me.html", "people", status=status, form=shown, **_shown(desk, db, me), **books)


def _page(desk: Desk, db: Reading | Writing, stitcher: Stitcher, form: Form, status: int = 200) -> Response:
    assert stitcher.id is not None
    account = stitchers.account_of(db, stitcher.id)
    return desk.page(
        "people/stitcher.html", "people", status=status, form=form, account=account, **_shown(desk, db, stitcher)
    )


def _shown(desk: Desk, db: Reading | Writing, stitcher: Stitcher) -> dict[str, Any]:
    assert stitcher.id is not None
    away = stitchers.days_away(db, stitcher.id)
    return {
        "stitcher": stitcher,
        "paces": own_paces(learning_of(desk.request).exact(db).fit, whose(stitcher.id)),
        "week": list(zip(DAYS, (amount * 60_000 for amount in stitchers.minutes_of(stitcher)), strict=True)),
        "days": list(zip(WEEKDAYS, DAYS, strict=True)),
        "away": [days for days in away if days.last_day >= desk.today],
        "past": [days for days in away if days.last_day < desk.today],
    }


def _form_page(desk: Desk, form: Form, stitcher: Stitcher | None, status: int = 200) -> Response:
    return desk.page(
        "people/stitcher_form.html",
        "people",
        status=status,
        form=form,
        stitcher=stitcher,
        days=list(zip(WEEKDAYS, DAYS, strict=True)),
    )


def _facts(desk: Desk, form: Form) -> stitchers.StitcherFacts:
    assert desk.studio is not None
    return stitchers.StitcherFacts(
        name=form.text("name", called="a name"),
        minutes=minutes_from(form),
        pay_minor_per_hour=form.money_minor("pay", desk.studio.currency, called="the pay an hour"),
        notes=form.text("notes", called="the notes", most=10_000, needed=False),
    )


def minutes_from(form: Form) -> tuple[int, ...]:
    """The minutes of each day of a week, from hours typed."""
    return tuple(
        form.minutes_of_day(f"hours_{day}", called=f"the hours on {weekday}", needed=False)
        for day, weekday in zip(WEEKDAYS, DAYS, strict=True)
    )


def hours_as_typed(stitcher: Stitcher) -> dict[str, str]:
    """The hours of her week as they would have been typed."""
    return {
        f"hours_{day}": f"{minutes / 60:.4g}"
        for day, minutes in zip(WEEKDAYS, stitchers.minutes_of(stitcher), strict=True)
        if minutes
    }


def _filled(desk: Desk, stitcher: Stitcher) -> Form:
    assert desk.studio is not None
    pay = stitcher.pay_minor_per_hour
    return Form(
        {
            "name": stitcher.name,
            "pay": "" if pay is None else str(money_typed(pay, desk.studio.currency)),
            "notes": stitcher.notes,
            **hours_as_typed(stitcher),
        }
    )


def _may_undo(desk: Desk, gone: StitcherAway, action: str) -> None:
    days = {"first_day": gone.first_day.isoformat(), "last_day": gone.last_day.isoformat(), "note": gone.note}
    desk.may_undo("These days away are taken out.", action, **days)


def _add_away(form: Form, db: Writing, stitcher_id: int) -> bool:
    first = form.day("first_day", called="the first day away")
    last = form.day("last_day", called="the last day away", needed=False) or first
    note = form.text("note", called="the note", needed=False)
    if first is not None and last is not None and last < first:
        form.fault("last_day", "The last day away must not lie before the first.")
    if form.wrong or first is None or last is None:
        return False
    stitchers.add_days_away(db, stitcher_id, first, last, note)
    return True
