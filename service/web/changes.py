"""What was changed, by whom: every event, newest first, on a page and as a file."""

from collections.abc import Iterator
from itertools import groupby
from typing import Annotated
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Depends
from fastapi.responses import Response

from service.records.db import Database
from service.records.queries.told import KINDS, PAGE, every_change, newest_changes
from service.web.again import OWNER_AFTER_PROOF
from service.web.changes_words import CHOICES, change_words, href, who_words
from service.web.changes_words import KINDS as KIND_WORDS
from service.web.csv_out import Cell, as_csv
from service.web.deps import Beyond, OwnerDesk, Reads, the_database
from service.web.forms import Form

router = APIRouter(include_in_schema=False, prefix="/settings")
HEADS = ("entry", "day", "time", "who", "kind", "number", "record", "what", "why")
Whole = Annotated[Database, Depends(the_database)]


@router.get("/changes")
def show_changes(desk: OwnerDesk, db: Reads, of: str = "", beyond: Beyond = None) -> Response:
    assert desk.studio is not None
    zone, kind = ZoneInfo(desk.studio.time_zone), of if of in KINDS else ""
    found = newest_changes(db, kind, beyond, PAGE + 1)
    shown = found[:PAGE]
    days = groupby(shown, key=lambda change: change.what.at.astimezone(zone).date())
    return desk.page(
        "settings/changes.html",
        "settings",
        form=Form({"of": kind}),
        choices=[("", "everything"), *((name, CHOICES[name]) for name in KINDS)],
        kind=kind,
        days=[(day, list(changes)) for day, changes in days],
        further=shown[-1].id if len(found) > PAGE else None,
        later=beyond is not None,
        kind_words=KIND_WORDS,
        told=change_words,
        who=who_words,
        href=href,
    )


@router.get("/changes.csv", dependencies=[OWNER_AFTER_PROOF])
def changes_file(desk: OwnerDesk, database: Whole, of: str = "") -> Response:
    assert desk.studio is not None
    return as_csv("changes", HEADS, _rows(database, of if of in KINDS else "", ZoneInfo(desk.studio.time_zone)))


def _rows(database: Database, kind: str, zone: ZoneInfo) -> Iterator[tuple[Cell, ...]]:
    """Every change; read while it is sent, in a session of its own."""
    with database.reading() as db:
        for change in every_change(db, kind):
            at = change.what.at.astimezone(zone)
            yield (
                *(change.id, at.date(), f"{at:%H:%M}", who_words(change), change.kind.replace("_", " ")),
                *(change.number, change.name, change_words(change), change.what.reason),
            )
