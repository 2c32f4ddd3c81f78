"""The books, for the owner: hours by month, stitcher, piece and operation, and what each stitcher is owed."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlencode

from fastapi import APIRouter
from fastapi.responses import Response

from service.reckoning.operations import OPERATIONS
from service.records.db import Reading
from service.records.queries.books import seconds_in, worked_by_operation, worked_by_piece
from service.studio.books import Days, accounts, by_month, by_person, span_of
from service.web.deps import Beyond, OwnerDesk, Reads
from service.web.forms import Form
from service.web.reckoner import asked

router = APIRouter(include_in_schema=False, prefix="/books")

BY = {"month": "By month", "stitcher": "By stitcher", "piece": "By piece", "work": "By work"}
FILES = {"month": "months", "stitcher": "stitchers", "piece": "pieces", "work": "work"}
DAYS = ("first", "last")


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of a ledger of hours: what it is of, where that is shown, what stands under it, its seconds."""

    name: Any
    seconds: int
    href: str = ""
    about: Any = ""


@dataclass(frozen=True, slots=True)
class Ledger:
    """The lines of one ledger, and the number beyond which it goes on."""

    lines: Sequence[Entry] = field(default_factory=tuple)
    further: int | None = None

    @property
    def seconds(self) -> int:
        """Of the lines shown: pieces are shown a few at a time."""
        return sum(each.seconds for each in self.lines)


@router.get("")
def show_books(desk: OwnerDesk, db: Reads, beyond: Beyond = None) -> Response:
    form = asked(desk, {"by": "month"})
    by, days = form.choice("by", BY, called="one of the ledgers") or "month", days_asked(form)
    days = Days() if form.wrong else days
    ledger = _LEDGERS[by](db, days, beyond)
    return desk.page(
        "books/books.html",
        "books",
        status=422 if form.wrong else 200,
        form=form,
        accounts=accounts(db),
        total=seconds_in(db, span_of(db, days))
        if by == "piece"
        else ledger.seconds,  # pieces are shown a few at a time
        ledger=ledger,
        by=by,
        ledgers=[(name, words, _address({**form.values, "by": name})) for name, words in BY.items()],
        file=f"/books/files/{FILES[by]}.csv?{urlencode(_said(form, DAYS))}",
        log=f"/books/files/log.csv?{urlencode(_said(form, DAYS))}",
        further=_address({**form.values, "beyond": str(ledger.further)}) if ledger.further else "",
    )


def days_asked(form: Form) -> Days:
    """From which day to which day the ledgers are to go."""
    first = form.day("first", called="the first day", needed=False)
    last = form.day("last", called="the last day", needed=False)
    if first is not None and last is not None and last < first:
        form.fault("last", "The last day must not lie before the first.")
    return Days(first, last)


def _address(values: dict[str, str]) -> str:
    said = {name: values[name] for name in ("by", *DAYS, "beyond") if values.get(name)}
    return f"/books?{urlencode(said)}"


def _said(form: Form, names: Sequence[str]) -> dict[str, str]:
    return {name: form.values[name] for name in names if form.values.get(name) and not form.wrong}


def _months(db: Reading, days: Days, beyond: int | None) -> Ledger:
    del beyond
    return Ledger([Entry(each.first_day, each.seconds, about=each.by_person) for each in by_month(db, days)])


def _people(db: Reading, days: Days, beyond: int | None) -> Ledger:
    del beyond
    return Ledger(
        [
            Entry(each.name, each.seconds, f"/books/stitchers/{each.stitcher_id}" if each.stitcher_id else "")
            for each in by_person(db, days)
        ]
    )


def _pieces(db: Reading, days: Days, beyond: int | None) -> Ledger:
    rows, more = worked_by_piece(db, span_of(db, days), beyond)
    lines = [Entry(row.name, int(row.seconds), f"/garments/{row.id}", row.state) for row in rows]
    return Ledger(lines, rows[-1].id if more else None)


def _work(db: Reading, days: Days, beyond: int | None) -> Ledger:
    del beyond
    places = {name: place for place, name in enumerate(OPERATIONS)}
    rows = sorted(worked_by_operation(db, span_of(db, days)), key=lambda row: places.get(row.operation, len(places)))
    return Ledger([Entry(row.operation, int(row.seconds or 0), about=row) for row in rows])


_LEDGERS = {"month": _months, "stitcher": _people, "piece": _pieces, "work": _work}
