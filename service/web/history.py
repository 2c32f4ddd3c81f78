"""A garment's history, day by day, to read and to print."""

from datetime import date
from typing import Annotated
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Depends
from fastapi.responses import Response

from service.records.queries.history import history_of
from service.records.tables import Garment
from service.web.deps import Reads, SignedIn, SignedInDesk
from service.web.history_words import days_of
from service.web.photos import seen_garment

router = APIRouter(include_in_schema=False)


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
