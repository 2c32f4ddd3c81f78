"""The books as files for a spreadsheet: each ledger, the payments, and the whole log."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Annotated
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Depends
from fastapi.responses import Response

from service.errors import Unreadable
from service.records.db import Database
from service.records.queries.books import every_entry, worked_by_operation, worked_by_piece
from service.studio.books import Days, accounts, by_month, by_person, span_of
from service.studio.payments_to_stitchers import every_payment
from service.web.again import OWNER_AFTER_PROOF
from service.web.books import days_asked
from service.web.books_words import minutes
from service.web.csv_out import Cell, as_csv
from service.web.deps import Desk, OwnerDesk, Reads, the_database
from service.web.money_words import money_typed
from service.web.reckoner import asked
from service.web.words import operation

router = APIRouter(include_in_schema=False, prefix="/books/files", dependencies=[OWNER_AFTER_PROOF])
Whole = Annotated[Database, Depends(the_database)]
LOG = (
    *("entry", "day", "time", "who", "piece", "panel", "section", "work", "kind", "counted", "unit", "minutes"),
    *("taken back", "takes back entry", "order passed over", "reason"),
)


@router.get("/months.csv")
def months_file(desk: OwnerDesk, db: Reads) -> Response:
    rows = [
        (f"{each.first_day:%Y-%m}", name, minutes(seconds))
        for each in by_month(db, _days(desk))
        for name, seconds in each.by_person
    ]
    return as_csv("hours-by-month", ("month", "who", "minutes"), rows)


@router.get("/stitchers.csv")
def stitchers_file(desk: OwnerDesk, db: Reads) -> Response:
    rows = [(each.name, minutes(each.seconds)) for each in by_person(db, _days(desk))]
    return as_csv("hours-by-stitcher", ("who", "minutes"), rows)


@router.get("/pieces.csv")
def pieces_file(desk: OwnerDesk, db: Reads) -> Response:
    found, _ = worked_by_piece(db, span_of(db, _days(desk)), limit=None)
    rows = [(row.id, row.name, row.state, minutes(int(row.seconds))) for row in found]
    return as_csv("hours-by-piece", ("number", "piece", "state", "minutes"), rows)


@router.get("/work.csv")
def work_file(desk: OwnerDesk, db: Reads) -> Response:
    rows = [
        (operation(row.operation), _tenths(int(row.tenths)), row.unit, minutes(int(row.seconds or 0)))
        for row in worked_by_operation(db, span_of(db, _days(desk)))
    ]
    return as_csv("hours-by-work", ("work", "done", "unit", "minutes"), rows)


@router.get("/owed.csv")
def owed_file(desk: OwnerDesk, db: Reads) -> Response:
    assert desk.studio
    currency = desk.studio.currency
    rows: list[tuple[Cell, ...]] = []
    for each in accounts(db):
        sums = (money_typed(amount, currency) for amount in (each.earned, each.paid, each.owed))
        rows.append((each.stitcher.name, minutes(each.seconds), *sums, currency))
    return as_csv("owed-to-stitchers", ("stitcher", "minutes", "earned", "paid", "owed", "currency"), rows)


@router.get("/payments.csv")
def payments_file(desk: OwnerDesk, db: Reads) -> Response:
    assert desk.studio
    currency = desk.studio.currency
    rows = [
        (
            row.id,
            row.paid_on,
            name,
            row.kind,
            money_typed(_signed(row.kind, row.amount_minor), currency),
            currency,
            row.note,
        )
        for row, name in every_payment(db)
    ]
    return as_csv("payments-to-stitchers", ("entry", "day", "stitcher", "kind", "amount", "currency", "note"), rows)


@router.get("/log.csv")
def log_file(desk: OwnerDesk, database: Whole) -> Response:
    assert desk.studio
    return as_csv("log", LOG, _log(database, _days(desk), ZoneInfo(desk.studio.time_zone)))


def _log(database: Database, days: Days, zone: ZoneInfo) -> Iterator[tuple[Cell, ...]]:
    """Every entry of the log; read while it is sent, in a session of its own."""
    with database.reading() as db:
        for row in every_entry(db, span_of(db, days)):
            at = row.at.astimezone(zone)
            yield (
                *(row.id, at.date(), f"{at:%H:%M}", row.who, row.piece, row.panel, row.section),
                *(operation(row.operation), row.kind, _tenths(row.counted_tenths), row.unit),
                None if row.seconds is None else minutes(row.seconds),
                *("yes" if row.counter_id else "", row.counters_id, "yes" if row.overruled else "", row.reason),
            )


def _days(desk: Desk) -> Days:
    form = asked(desk, {})
    days = days_asked(form)
    if form.wrong:
        raise Unreadable(form.errors)
    return days


def _tenths(amount: int) -> Decimal:
    return Decimal(amount) / 10


def _signed(kind: str, amount: int) -> int:
    return amount if kind == "paid" else -amount
