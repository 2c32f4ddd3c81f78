"""One stitcher's account, for the owner: her hours, what they come to, what was paid to her and is still owed."""

import secrets
from typing import Any

from fastapi import APIRouter
from fastapi.responses import Response

from service.errors import Conflict
from service.records.db import Reading, Writing
from service.studio.books import Days, accounts, by_month
from service.studio.payments_to_stitchers import PaymentAsk, pay_stitcher, payments_to, take_back_payment
from service.studio.stitchers import stitcher_with
from service.web.again import OWNER_AFTER_PROOF
from service.web.deps import Desk, Id, Now, Owner, OwnerDesk, Reads, Writes
from service.web.forms import Form, Typed
from service.web.money_words import money_typed

router = APIRouter(include_in_schema=False, prefix="/books/stitchers")


@router.get("/{stitcher_id}")
def show_account(desk: OwnerDesk, db: Reads, stitcher_id: Id) -> Response:
    return _page(desk, db, stitcher_id, Form())


@router.post("/{stitcher_id}/payments", dependencies=[OWNER_AFTER_PROOF])
def pay(desk: OwnerDesk, owner: Owner, form: Typed, db: Writes, at: Now, stitcher_id: Id) -> Response:
    ask = _ask(desk, form, stitcher_id)
    if not form.wrong and ask is not None:
        try:
            pay_stitcher(db, ask, owner.id, at)
        except Conflict as refused:
            form.fault("", refused.sentence)
    if form.wrong:
        return _page(desk, db, stitcher_id, form, 422)
    return desk.go(f"/books/stitchers/{stitcher_id}#payments")


@router.post("/{stitcher_id}/payments/{payment_id}/take-back", dependencies=[OWNER_AFTER_PROOF])
def take_payment_back(desk: OwnerDesk, owner: Owner, db: Writes, at: Now, stitcher_id: Id, payment_id: Id) -> Response:
    take_back_payment(db, stitcher_id, payment_id, owner.id, desk.today, at)
    return desk.go(f"/books/stitchers/{stitcher_id}#payments")


def account_shown(db: Reading | Writing, stitcher_id: int) -> dict[str, Any]:
    """What a page shows of a stitcher's account."""
    (account,) = accounts(db, stitcher_id)
    payments = payments_to(db, stitcher_id)
    taken_back = {each.counters_id for each in payments}
    months = by_month(db, Days(), stitcher_id)
    return {"account": account, "payments": payments, "taken_back": taken_back, "months": months}


def _ask(desk: Desk, form: Form, stitcher_id: int) -> PaymentAsk | None:
    assert desk.studio
    amount = form.money_minor("amount", desk.studio.currency, called="the sum paid", needed=True)
    if amount == 0:
        form.fault("amount", "The sum paid must be above nothing.")
    on = form.day("paid_on", called="the day it was paid")
    if on is not None and on > desk.today:
        form.fault("paid_on", "That day has not come yet. Write a payment down once it is made.")
    note = form.text("note", called="the note", most=1000, needed=False)
    key = form.raw("key")[:100] or secrets.token_hex(16)
    return None if amount is None or on is None else PaymentAsk(key, stitcher_id, amount, on, note)


def _page(desk: Desk, db: Reading | Writing, stitcher_id: int, form: Form, status: int = 200) -> Response:
    assert desk.studio
    stitcher_with(db, stitcher_id)
    shown = account_shown(db, stitcher_id)
    owed = shown["account"].owed
    if not form.wrong:
        usual = str(money_typed(owed, desk.studio.currency)) if owed > 0 else ""
        form = Form({"amount": usual, "paid_on": desk.today.isoformat(), "key": secrets.token_hex(16)})
    return desk.page("books/account.html", "books", status=status, form=form, **shown)
