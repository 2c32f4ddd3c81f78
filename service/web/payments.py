"""Pages of money: what is owed for a commission, payments, statement and receipts, and all that waits. The owner's."""

from dataclasses import dataclass
from datetime import date

from fastapi import APIRouter
from fastapi.responses import Response

from service.errors import Conflict, Unreadable
from service.papers.paper import SIZES, Ledger, Paper, Part
from service.records.db import Reading, Writing
from service.records.queries.quotes import commissions_with_money, payments_of, quotes_of, quotes_waiting
from service.records.tables import Client, Commission, Payment, Quote, Studio
from service.studio.commissions import commission_with
from service.studio.maker import made_by, maker_of
from service.studio.money_owed import Due, Owed, owed_for, owed_of
from service.studio.payments import Paid, payment_with, take_payment_back, write_payment
from service.web.again import OWNER_AFTER_PROOF
from service.web.deps import Desk, Id, Now, Owner, OwnerDesk, Reads, Writes
from service.web.forms import Form, Typed
from service.web.money_words import ago, money
from service.web.paper_pages import print_paper
from service.web.words import day

router = APIRouter(include_in_schema=False)
KINDS = {"paid": "was paid to the studio", "given back": "was given back to the client"}
CAUTION = "Not an invoice for tax: local tax rules say what an invoice must hold."


@dataclass(frozen=True, slots=True)
class PaymentLine:
    """One entry as it is shown; `is_wrong`: taken back by another."""

    row: Payment
    is_wrong: bool


@router.get("/quotes")
def show_waiting(desk: OwnerDesk, db: Reads) -> Response:
    rows = commissions_with_money(db)
    owed = owed_of(db, [row.id for row in rows])
    return desk.page(
        "quotes/waiting.html",
        "quotes",
        sent=quotes_waiting(db, "sent", desk.today),
        drafts=quotes_waiting(db, "draft", desk.today),
        rows=[(row, owed[row.id], due_told(owed[row.id], desk.today)) for row in rows],
        today=desk.today,
    )


@router.get("/commissions/{commission_id}/money")
def show_money(desk: OwnerDesk, db: Reads, commission_id: Id) -> Response:
    commission = commission_with(db, commission_id)
    return _page(desk, db, commission, Form({"kind": "paid", "on": desk.today.isoformat(), "how": "bank transfer"}))


@router.post("/commissions/{commission_id}/money", dependencies=[OWNER_AFTER_PROOF])
def add_payment(desk: OwnerDesk, form: Typed, owner: Owner, db: Writes, at: Now, commission_id: Id) -> Response:
    commission = commission_with(db, commission_id)
    paid = _paid(form, owed_for(db, commission_id))
    if paid is not None:
        try:
            write_payment(db, commission_id, paid, owner, at)
        except Unreadable as refused:
            form.errors = dict(refused.faults)
    if form.wrong:
        return _page(desk, db, commission, form, 422)
    return desk.go(f"/commissions/{commission_id}/money")


@router.get("/commissions/{commission_id}/statement.pdf")
def print_statement(desk: OwnerDesk, db: Reads, commission_id: Id, paper: str = SIZES[0]) -> Response:
    assert desk.studio is not None
    commission = commission_with(db, commission_id)
    return print_paper(_statement(desk, db, commission, desk.studio), paper, f"statement-{commission_id}")


@router.post("/payments/{payment_id}/take-back", dependencies=[OWNER_AFTER_PROOF])
def take_back(desk: OwnerDesk, form: Typed, owner: Owner, db: Writes, at: Now, payment_id: Id) -> Response:
    payment = payment_with(db, payment_id)
    reason = form.text("reason", called="the reason", most=1000)
    if form.wrong:
        return _page(desk, db, commission_with(db, payment.commission_id), form, 422)
    take_payment_back(db, payment_id, reason, owner, at)
    return desk.go(f"/commissions/{payment.commission_id}/money")


@router.get("/payments/{payment_id}/receipt.pdf")
def print_receipt(desk: OwnerDesk, db: Reads, payment_id: Id, paper: str = SIZES[0]) -> Response:
    assert desk.studio is not None
    payment = payment_with(db, payment_id)
    wrong = {line.row.id for line in _lines(db, payment.commission_id) if line.is_wrong}
    if payment.kind == "counter" or payment.id in wrong:
        raise Conflict("This entry was taken back: there is no receipt for it.")
    return print_paper(_receipt(desk, db, payment, desk.studio), paper, f"receipt-{payment_id}")


def due_told(owed: Owed, today: date) -> str:
    """What is due of it, in words.

    >>> due_told(Owed("GBP", 100, 100, (), 0), date(2027, 5, 16))
    'nothing is owed'
    """
    if owed.owed_minor < 0:
        return f"{money(-owed.owed_minor, owed.currency)} to be given back"
    late = owed.overdue(today)
    if late is not None and late.on is not None:
        return f"{money(owed.due_minor(today), owed.currency)} overdue {ago(late.on, today)}"
    if due := owed.due_minor(today):
        return f"{money(due, owed.currency)} due today"
    following = owed.next_due(today)
    if following is None:
        return "nothing is owed"
    return f"next {money(following.open_minor, owed.currency)} {when(following)}"


def when(due: Due) -> str:
    """When a part is due, in words."""
    if due.on is not None:
        return f"on {day(due.on)}"
    return due.due


def _page(desk: Desk, db: Reading | Writing, commission: Commission, form: Form, status: int = 200) -> Response:
    assert commission.id is not None
    owed = owed_for(db, commission.id)
    return desk.page(
        "quotes/money.html",
        "commissions",
        status=status,
        form=form,
        commission=commission,
        client=db.get_one(Client, commission.client_id),
        owed=owed,
        told=due_told(owed, desk.today),
        dues=[(due, when(due), _open_told(due, desk.today)) for due in owed.dues],
        lines=_lines(db, commission.id),
        kinds=list(KINDS.items()),
        today=desk.today,
    )


def _open_told(due: Due, today: date) -> str:
    if not due.open_minor:
        return "paid"
    if due.is_overdue(today) and due.on is not None:
        return f"overdue {ago(due.on, today)}"
    return "due today" if due.is_due(today) else "not due yet"


def _lines(db: Reading | Writing, commission_id: int) -> list[PaymentLine]:
    rows = payments_of(db, commission_id)
    wrong = {row.counters_id for row in rows}
    return [PaymentLine(row, row.id in wrong) for row in rows]


def _paid(form: Form, owed: Owed) -> Paid | None:
    kind = form.choice("kind", KINDS, called="which way the money went")
    on = form.day("on", called="the day it was paid")
    amount = form.money_minor("amount", owed.currency, called="the sum", needed=True)
    if amount is not None and not form.ticked("is_more"):
        _ask_of_more(form, kind, amount, owed)
    how = form.text("how", called="how it was paid", most=80)
    note = form.text("note", called="the note", most=1000, needed=False)
    return None if form.wrong or on is None or amount is None else Paid(kind, on, amount, how, note)


def _ask_of_more(form: Form, kind: str, amount: int, owed: Owed) -> None:
    """Ask once whether more than is owed was really paid, or more given back than was paid."""
    if kind == "paid" and owed.agreed_minor and amount > max(0, owed.owed_minor):
        open_told = money(max(0, owed.owed_minor), owed.currency)
        form.fault("amount", f"Only {open_told} is still to be paid. Correct the sum, or tick that it is right.")
    elif kind == "given back" and amount > owed.paid_minor:
        paid_told = money(max(0, owed.paid_minor), owed.currency)
        form.fault("amount", f"Only {paid_told} was paid. Correct the sum, or tick that it is right.")


def _statement(desk: Desk, db: Reading, commission: Commission, studio: Studio) -> Paper:
    assert commission.id is not None
    owed, client = owed_for(db, commission.id), db.get_one(Client, commission.client_id)
    agreed = [quote for quote in reversed(quotes_of(db, commission.id)) if quote.state == "accepted"]
    left = "To be paid" if owed.owed_minor >= 0 else "To be given back"
    promised = tuple((_called(one), money(one.total_minor, one.currency)) for one in agreed)
    still_open = tuple(
        (when(due), _open_told(due, desk.today), money(due.open_minor, owed.currency))
        for due in owed.dues
        if due.open_minor
    )
    parts = (
        _ledger("Agreed", ("What", "Sum"), promised),
        _ledger("Paid", ("Day", "How", "Sum"), _paid_rows(db, commission.id)),
        _ledger("Still open", ("Due", "How it stands", "Sum"), still_open),
        Part(facts=((left, money(abs(owed.owed_minor), owed.currency)),)),
    )
    told = f"Written for {client.name} on {day(desk.today)}."
    return Paper(f"Statement: {commission.title}", studio.name, told, parts, _foot(db, studio))


def _ledger(heading: str, heads: tuple[str, ...], rows: tuple[tuple[str, ...], ...]) -> Part:
    """Rows whose last column is sums; where there are none, a word."""
    if not rows:
        return Part(heading=heading, text=("Nothing.",))
    return Part(heading=heading, ledger=Ledger(heads, rows, (len(heads) - 1,)))


def _foot(db: Reading, studio: Studio) -> str:
    return f"{made_by(studio, maker_of(db))} {CAUTION}"


def _called(quote: Quote) -> str:
    return f"{quote.kind.capitalize()}, version {quote.version}"


def _paid_rows(db: Reading, commission_id: int) -> tuple[tuple[str, ...], ...]:
    """What was paid and given back, the oldest first, without entries taken back."""
    rows = [line.row for line in reversed(_lines(db, commission_id)) if not line.is_wrong]
    return tuple(
        (day(row.on), row.how, money(row.amount_minor if row.kind == "paid" else -row.amount_minor, row.currency))
        for row in rows
        if row.kind != "counter"
    )


def _receipt(desk: Desk, db: Reading, payment: Payment, studio: Studio) -> Paper:
    commission = commission_with(db, payment.commission_id)
    client = db.get_one(Client, commission.client_id)
    came = payment.kind == "paid"
    words = f"{'Received from' if came else 'Given back to'} {client.name}, with thanks."
    return Paper(
        title=f"Receipt {payment.id}",
        studio=studio.name,
        told=words,
        parts=(
            Part(
                facts=(
                    ("For", commission.title),
                    ("Day", day(payment.on)),
                    ("Sum", money(payment.amount_minor, payment.currency)),
                    ("How", payment.how),
                    ("Written down", day(desk.today)),
                )
            ),
        ),
        foot=_foot(db, studio),
    )
