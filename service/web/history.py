"""A garment's history, day by day, to read and to print."""

from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from typing import Annotated
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Depends
from fastapi.responses import Response

from service.languages.spoken import in_the_key
from service.records.db import Reading
from service.records.queries.history import History, history_of
from service.records.tables import Garment
from service.web.books_words import minutes
from service.web.csv_out import Cell, as_csv
from service.web.deps import Reads, SignedIn, SignedInDesk
from service.web.history_words import days_of, told
from service.web.photos import seen_garment
from service.web.words import operation

router = APIRouter(include_in_schema=False)
HEADS = ("day", "time", "who", "what", "part", "counted", "unit", "minutes", "why")


@router.get("/garments/{garment_id}/history")
def show_history(
    desk: SignedInDesk,
    person: SignedIn,
    db: Reads,
    garment: Annotated[Garment, Depends(seen_garment)],
    before: date | None = None,
) -> Response:
    assert desk.studio is not None
    assert garment.id is not None
    zone = ZoneInfo(desk.studio.time_zone)
    history = history_of(db, garment.id, zone, before, for_owner=person.is_owner)
    return desk.page(
        "garments/history.html",
        "table",
        garment=garment,
        days=days_of(history, zone),
        further=history.days[-1] if history.further else None,
        later=before is not None,
    )


@router.get("/garments/{garment_id}/history.csv")
def history_file(
    desk: SignedInDesk,
    person: SignedIn,
    db: Reads,
    garment: Annotated[Garment, Depends(seen_garment)],
) -> Response:
    assert desk.studio is not None
    assert garment.id is not None
    zone = ZoneInfo(desk.studio.time_zone)
    with in_the_key():  # what a row says is a record
        rows = list(_rows(_whole(db, garment.id, zone, for_owner=person.is_owner), zone))
    return as_csv(f"history-{garment.id}", HEADS, rows)


def _whole(db: Reading, garment_id: int, zone: ZoneInfo, *, for_owner: bool) -> Iterator[History]:
    """The history from the newest day to the oldest, some days at a time."""
    history = history_of(db, garment_id, zone, for_owner=for_owner)
    yield history
    while history.further and history.days:
        history = history_of(db, garment_id, zone, history.days[-1], for_owner=for_owner)
        yield history


def _rows(histories: Iterator[History], zone: ZoneInfo) -> Iterator[tuple[Cell, ...]]:
    for history in histories:
        for entry in history.entries:
            at = entry.at.astimezone(zone)
            counted = Decimal(entry.counted_tenths) / 10 * (1 if entry.kind == "work" else -1)
            took = None if entry.seconds is None else minutes(entry.seconds)
            what = f"{operation(entry.operation)}, taken back" if entry.taken_back else operation(entry.operation)
            part, unit = entry.section or entry.panel, "clip" if entry.operation == "clip" else entry.unit
            yield at.date(), f"{at:%H:%M}", entry.who, what, part, counted, unit, took, entry.reason
        for line in history.happened:
            at = line.at.astimezone(zone)
            yield at.date(), f"{at:%H:%M}", line.who, told(line), line.part, None, None, None, line.reason
