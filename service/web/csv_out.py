"""Ledgers as CSV for a spreadsheet, sent a piece at a time.

UTF-8 with its mark at the beginning, commas, CRLF (RFC 4180); days as year-month-day, decimals with a point. What
people typed never begins as a formula would: a spreadsheet would run it, so an apostrophe goes before it.
"""

import csv
from collections.abc import Iterable, Iterator
from datetime import date
from decimal import Decimal
from io import StringIO

from fastapi.responses import StreamingResponse

from service.languages.spoken import in_the_key, said

Cell = str | int | Decimal | date | None

RUNS = ("=", "+", "-", "@", "\t", "\r", "\n")
MARK = "\ufeff"
PIECE = 1 << 16


def safe(cell: Cell) -> str:
    """A cell as it is written: text that would run as a formula is held back by an apostrophe, numbers are numbers.

    >>> safe("=1+1"), safe("@sum"), safe(Decimal("-4.50")), safe(date(2027, 5, 16)), safe(None), safe("Knot 4 - 6")
    ("'=1+1", "'@sum", '-4.50', '2027-05-16', '', 'Knot 4 - 6')
    """
    if isinstance(cell, str):
        return f"'{cell}" if cell.startswith(RUNS) else cell
    if isinstance(cell, date):
        return cell.isoformat()
    return "" if cell is None else f"{cell:f}" if isinstance(cell, Decimal) else str(cell)


def pieces(heads: Iterable[str], rows: Iterable[Iterable[Cell]]) -> Iterator[str]:
    """The whole text in pieces of some size, so that it never stands in memory all at once."""
    held = StringIO()
    write = csv.writer(held, lineterminator="\r\n")
    held.write(MARK)
    write.writerow(map(said, heads))
    for row in _in_the_key(rows):
        write.writerow([safe(cell) for cell in row])
        if held.tell() > PIECE:
            yield held.getvalue()
            held.seek(0)
            held.truncate()
    yield held.getvalue()


def _in_the_key(rows: Iterable[Iterable[Cell]]) -> Iterator[list[Cell]]:
    """The rows as they are made one by one: what a row says is a record, in the language of the sources."""
    coming = iter(rows)
    while True:
        with in_the_key():
            row = next(coming, None)
            made = None if row is None else list(row)
        if made is None:
            return
        yield made


def as_csv(name: str, heads: Iterable[str], rows: Iterable[Iterable[Cell]]) -> StreamingResponse:
    """An answer that a browser keeps as a file of that name."""
    named = {"Content-Disposition": f'attachment; filename="{name}.csv"'}
    return StreamingResponse(pieces(heads, rows), media_type="text/csv; charset=utf-8", headers=named)
