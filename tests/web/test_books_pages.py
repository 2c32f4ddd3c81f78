"""The books: the owner's ledgers and files, each stitcher's account, and what a stitcher sees of her own."""

import csv
import html
import io
import re
from datetime import timedelta
from decimal import Decimal

import httpx2
import pytest
from sqlmodel import select

from service.records.tables import Garment, Stitcher, StitcherPayment, Tally
from service.studio.log import take_back
from tests.building import a_garment
from tests.counting import count, number, person, step, stitcher_id, work_on
from tests.giving import Giving, give
from tests.serving import OWNER, START, STITCHER, Live


@pytest.fixture
def wren(live: Live) -> int:
    """A stitcher's number, who is paid 18.00 an hour and logged ten hours, an unpicking, and a wrong entry."""
    with live.database.writing() as db:
        garment_id, owner, hers = number(a_garment(db, "bib")), person(db, OWNER), person(db, STITCHER)
        db.get_one(Garment, garment_id).name = "=Bib"
        work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
        give(db, owner, Giving(garment_id, hers.stitcher_id), START)
        knots = step(db, garment_id, "ladder_knot")
        for day, minutes in ((0, 300), (31, 290)):
            count(db, hers, knots, 10, START + timedelta(day), minutes=Decimal(minutes))
        count(db, hers, knots, 4, START + timedelta(32), kind="unpick", minutes=Decimal(10), reason="@too loose")
        count(db, hers, knots, 7, START + timedelta(32), minutes=Decimal(70))
        (wrong,) = [row.id for row in db.exec(select(Tally).where(Tally.seconds == 4200))]
        assert wrong is not None
        take_back(db, owner, wrong, "back", START + timedelta(40))
        stitcher = db.get_one(Stitcher, stitcher_id(db, STITCHER))
        stitcher.pay_minor_per_hour = 1800
        db.add(stitcher)
        return number(stitcher)


def words(page: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).replace("\xa0", " ").split())


def rows(answer: httpx2.Response) -> list[dict[str, str]]:
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "text/csv; charset=utf-8"
    assert answer.content.startswith(b"\xef\xbb\xbf")
    return list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"), newline="")))


def test_the_owner_reads_hours_by_month_stitcher_piece_and_work(owner: httpx2.Client, wren: int) -> None:
    page = words(owner.get("/books").text)
    assert "Wren Hallam 10 h £180.00 £0.00 £180.00" in page
    assert "October 2026 Wren Hallam 5 h 5 h September 2026 Wren Hallam 5 h 5 h" in page
    assert "Wren Hallam 10 h" in words(owner.get("/books?by=stitcher").text)
    assert "=Bib in work 10 h" in words(owner.get("/books?by=piece").text)
    assert re.search(r"Knot the edges \d+ knots 10 h", words(owner.get("/books?by=work").text))
    september = words(owner.get("/books?first=2026-09-01&last=2026-09-30").text)
    assert "5 h altogether." in september
    assert "October 2026" not in september
    assert wren


@pytest.mark.parametrize(
    ("asked", "sentence"),
    [
        ("first=soon", "Enter the first day as year-month-day, like 2027-05-16."),
        ("first=2026-10-01&last=2026-09-01", "The last day must not lie before the first."),
        ("by=scrawl", "Choose one of the ledgers."),
    ],
)
def test_days_that_are_none_are_said_at_their_field(owner: httpx2.Client, asked: str, sentence: str) -> None:
    answer = owner.get(f"/books?{asked}")
    assert answer.status_code == 422
    assert sentence in answer.text


def test_files_hold_the_same_sums_and_nothing_that_a_spreadsheet_would_run(owner: httpx2.Client, wren: int) -> None:
    assert rows(owner.get("/books/files/months.csv")) == [
        {"month": "2026-10", "who": "Wren Hallam", "minutes": "300.00"},
        {"month": "2026-09", "who": "Wren Hallam", "minutes": "300.00"},
    ]
    assert rows(owner.get("/books/files/stitchers.csv")) == [{"who": "Wren Hallam", "minutes": "600.00"}]
    (piece,) = rows(owner.get("/books/files/pieces.csv"))
    assert (piece["piece"], piece["minutes"]) == ("'=Bib", "600.00")
    (owed,) = [row for row in rows(owner.get("/books/files/owed.csv")) if row["stitcher"] == "Wren Hallam"]
    assert (owed["minutes"], owed["earned"], owed["owed"], owed["currency"]) == ("600.00", "180.00", "180.00", "GBP")
    knots = [row for row in rows(owner.get("/books/files/work.csv")) if row["minutes"] != "0.00"]
    assert [(row["work"], row["unit"], row["minutes"]) for row in knots] == [("knot the edges", "knot", "600.00")]
    log = [row for row in rows(owner.get("/books/files/log.csv")) if row["minutes"]]
    assert [(row["day"], row["kind"], row["counted"], row["minutes"], row["reason"]) for row in log] == [
        ("2026-09-01", "work", "10", "300.00", ""),
        ("2026-10-02", "work", "10", "290.00", ""),
        ("2026-10-03", "unpick", "4", "10.00", "'@too loose"),
        ("2026-10-03", "work", "7", "70.00", ""),
        ("2026-10-11", "counter", "7", "70.00", ""),
    ]
    assert [row["taken back"] for row in log] == ["", "", "", "yes", ""]
    assert log[4]["takes back entry"] == log[3]["entry"]
    part = owner.get("/books/files/log.csv?first=2026-10-01&last=2026-10-02")
    assert [row["minutes"] for row in rows(part)] == ["290.00"]
    assert owner.get("/books/files/log.csv?first=soon").status_code == 422
    assert wren


def test_a_payment_is_written_down_once_and_taken_back(owner: httpx2.Client, live: Live, wren: int) -> None:
    path = f"/books/stitchers/{wren}"
    page = owner.get(path).text
    assert "is owed <strong>£180.00</strong>" in page
    key = re.search(r'name="key" value="(\w+)"', page)
    assert key
    sent = {"key": key[1], "amount": "100.50", "paid_on": "2026-11-01", "note": "+ in cash"}
    for _ in range(2):
        assert owner.post(f"{path}/payments", data=sent).status_code == 303
    assert "is owed <strong>£79.50</strong>" in owner.get(path).text
    (paid,) = rows(owner.get("/books/files/payments.csv"))
    assert (paid["amount"], paid["day"], paid["note"]) == ("100.50", "2026-11-01", "'+ in cash")
    with live.database.reading() as db:
        (entry,) = db.exec(select(StitcherPayment.id)).all()
    assert owner.post(f"{path}/payments/{entry}/take-back").status_code == 303
    assert owner.post(f"{path}/payments/{entry}/take-back").status_code == 409
    assert "is owed <strong>£180.00</strong>" in owner.get(path).text
    assert [row["amount"] for row in rows(owner.get("/books/files/payments.csv"))] == ["100.50", "-100.50"]


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ({"amount": "", "paid_on": "2026-11-01"}, "Enter the sum paid."),
        ({"amount": "0", "paid_on": "2026-11-01"}, "The sum paid must be above nothing."),
        ({"amount": "-5", "paid_on": "2026-11-01"}, "Sum paid must be at least 0."),
        ({"amount": "1.005", "paid_on": "2026-11-01"}, "Sum paid has more decimals than GBP allows."),
        ({"amount": "5", "paid_on": "2199-01-01"}, "That day has not come yet."),
        ({"amount": "5", "paid_on": "May"}, "Enter the day it was paid as year-month-day"),
    ],
)
def test_a_payment_that_cannot_be_is_said_at_its_field(
    owner: httpx2.Client, wren: int, said: dict[str, str], sentence: str
) -> None:
    answer = owner.post(f"/books/stitchers/{wren}/payments", data={**said, "note": "as typed"})
    assert answer.status_code == 422
    assert sentence in answer.text
    assert 'value="as typed"' in answer.text
    assert rows(owner.get("/books/files/payments.csv")) == []


def test_another_pay_counts_from_its_day_on(owner: httpx2.Client, wren: int) -> None:
    said = {"name": "Wren Hallam", "pay": "20.00", "pay_from": "2026-10-01"}
    assert owner.post(f"/stitchers/{wren}/change", data=said).status_code == 303
    page = words(owner.get(f"/books/stitchers/{wren}").text)
    assert "before 1 October 2026 5 h £18.00 £90.00 since then 5 h £20.00 £100.00" in page
    assert owner.post(f"/stitchers/{wren}/change", data={**said, "pay_from": "May"}).status_code == 422


def test_a_stitcher_sees_her_own_hours_and_what_she_is_owed_and_nothing_else_of_the_books(
    stitcher: httpx2.Client, second: httpx2.Client, wren: int
) -> None:
    mine = words(stitcher.get("/stitchers/me").text)
    assert "You are owed £180.00 : earned £180.00 in 10 h, paid £0.00." in mine
    assert "October 2026 5 h September 2026 5 h" in mine
    other = words(second.get("/stitchers/me").text)
    assert "No pay an hour is written down." in other
    assert "£" not in other
    for path in ("/books", f"/books/stitchers/{wren}", "/books/files/log.csv", "/books/files/owed.csv"):
        assert stitcher.get(path).status_code == 403
    assert stitcher.post(f"/books/stitchers/{wren}/payments", data={"amount": "5"}).status_code == 403


def test_books_of_an_empty_studio_say_what_belongs_here(owner: httpx2.Client) -> None:
    page = words(owner.get("/books").text)
    assert "No time is logged in these days." in page
    assert rows(owner.get("/books/files/log.csv")) == []
    assert owner.get("/books/stitchers/99").status_code == 404
