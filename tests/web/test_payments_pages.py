"""Money on its pages: payments written down and taken back, what is owed and overdue, statement and receipt."""

from datetime import UTC, datetime, timedelta

import httpx2
import pytest
from sqlmodel import col, select

from service.records.db import Database
from service.records.tables import Payment
from service.web.money_words import money
from tests.counting import number
from tests.quoting import an_agreed_garment
from tests.serving import Live
from tests.shelf import words_of

TODAY = datetime.now(UTC).date().isoformat()
PAID = {"kind": "paid", "on": TODAY, "amount": "120.50", "how": "cash", "note": "In an envelope"}


@pytest.fixture
def sqlite_database(quotable: Database) -> Database:
    """A studio whose garment waits for its quote."""
    return quotable


@pytest.fixture
def commission(live: Live) -> int:
    """A commission whose quote is accepted."""
    with live.database.writing() as db:
        return an_agreed_garment(db)[0].commission_id


def test_a_payment_is_written_down_receipted_and_taken_back(owner: httpx2.Client, live: Live, commission: int) -> None:
    path = f"/commissions/{commission}/money"
    assert "overdue for" in words_of(owner.get(path).text)  # agreed some time ago, and nothing paid
    assert owner.post(path, data=PAID).headers["location"] == path
    page = words_of(owner.get(path).text)
    assert "£120.50 paid, cash" in page
    assert "In an envelope" in page
    with live.database.reading() as db:
        payment = number(db.exec(select(Payment)).one())
    receipt = owner.get(f"/payments/{payment}/receipt.pdf", params={"paper": "us-letter"})
    assert (receipt.status_code, receipt.content[:5]) == (200, b"%PDF-")
    assert owner.get(f"/commissions/{commission}/statement.pdf").content[:5] == b"%PDF-"
    without = owner.post(f"/payments/{payment}/take-back", data={"reason": ""})
    assert (without.status_code, "Enter the reason." in without.text) == (422, True)
    assert owner.post(f"/payments/{payment}/take-back", data={"reason": "Not hers"}).status_code == 303
    page = words_of(owner.get(path).text)
    assert "(a wrong entry)" in page
    assert "Not hers" in page
    assert owner.get(f"/payments/{payment}/receipt.pdf").status_code == 409
    assert owner.post(f"/payments/{payment}/take-back", data={"reason": "Again"}).status_code == 409


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"amount": ""}, "Enter the sum."),
        ({"amount": "0"}, "above nothing"),
        ({"amount": "-5"}, "must be at least 0"),
        ({"amount": "1.005"}, "has more decimals than GBP allows"),
        ({"on": (datetime.now(UTC).date() + timedelta(days=2)).isoformat()}, "today or earlier"),
        ({"how": ""}, "Enter how it was paid."),
        ({"kind": "lent"}, "Choose which way the money went."),
    ],
)
def test_a_payment_that_cannot_be_comes_back_and_nothing_is_kept(
    owner: httpx2.Client, live: Live, commission: int, typed: dict[str, str], sentence: str
) -> None:
    answer = owner.post(f"/commissions/{commission}/money", data={**PAID, **typed})
    assert (answer.status_code, sentence in answer.text, "In an envelope" in answer.text) == (422, True, True)
    with live.database.reading() as db:
        assert db.exec(select(Payment)).all() == []


def test_more_than_is_owed_or_was_paid_is_asked_about_once(owner: httpx2.Client, live: Live, commission: int) -> None:
    path = f"/commissions/{commission}/money"
    for kind, amount, told in (
        ("given back", "9999", "Only £0.00 was paid."),
        ("paid", "99999", "is still to be paid."),
    ):
        more = {**PAID, "kind": kind, "amount": amount}
        asked = owner.post(path, data=more)
        assert (asked.status_code, told in asked.text, "In an envelope" in asked.text) == (422, True, True)
        assert 'name="is_more"' in asked.text
        assert owner.post(path, data={**more, "is_more": "yes"}).status_code == 303
    with live.database.reading() as db:
        assert [one.kind for one in db.exec(select(Payment).order_by(col(Payment.id)))] == ["given back", "paid"]


def test_all_that_waits_stands_on_one_page_and_on_the_commission(owner: httpx2.Client, commission: int) -> None:
    waiting = words_of(owner.get("/quotes").text)
    assert "Christening of Ivy" in waiting
    assert "Quotes that were sent wait here for a yes." in waiting
    assert "overdue for" in waiting
    owner.post(f"/commissions/{commission}/move", data={"state": "closed"})
    assert "overdue for" in words_of(owner.get("/quotes").text)  # closed, but still owed for
    page = words_of(owner.get(f"/commissions/{commission}").text)
    assert "£0.00 of £" in page
    assert owner.get("/commissions/999/money").status_code == 404
    assert owner.get("/payments/999/receipt.pdf").status_code == 404


@pytest.mark.parametrize(
    ("minor", "currency", "written"),
    [
        (5, "KWD", "KWD\u00a00.005"),
        (1500, "JPY", "JP¥1,500"),
        (-12_345, "EUR", "−€123.45"),
        (7, "IQD", "IQD\u00a00.007"),
    ],
)
def test_sums_have_as_many_digits_as_their_currency(minor: int, currency: str, written: str) -> None:
    assert money(minor, currency) == written
