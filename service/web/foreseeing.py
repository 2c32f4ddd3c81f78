"""The diary's plan, as routes ask for it; what is behind is made anew after the answer has left."""

from datetime import date
from typing import Annotated

from fastapi import BackgroundTasks, Depends, Request
from markupsafe import Markup

from service.drawing.road import Road, road_drawing
from service.records.db import Database
from service.studio.diary import Foreseen
from service.studio.foresight import Foresight
from service.web import manner
from service.web.deps import Desk, Reads, signed_in_desk, the_database


def foresight_of(request: Request) -> Foresight:
    """What this service foresees."""
    foresight: Foresight = request.app.state.foresight
    return foresight


def plan_here(
    desk: Annotated[Desk, Depends(signed_in_desk)],
    database: Annotated[Database, Depends(the_database)],
    db: Reads,
    background: BackgroundTasks,
) -> Foreseen:
    """The newest plan; when it is behind, it is made anew behind this answer."""
    foresight = foresight_of(desk.request)
    found = foresight.newest(db, desk.today)
    if foresight.is_due():
        background.add_task(foresight.catch_up, database, desk.today)
    return found


def road_of(plan: Foreseen, garment_id: int) -> Markup:
    """The drawn road of a piece to its day; nothing where no day is foreseen, or nothing is left to do."""
    piece, days = plan.piece(garment_id), plan.days_of(garment_id)
    if piece is None or not piece.left_ms or days.likely is None or days.sure is None or days.chance is None:
        return Markup()
    road = Road(piece.name, plan.facts.today, days.likely, days.sure, piece.wanted_on, days.chance, _in_few_letters)
    return Markup(road_drawing(road, f"road-{garment_id}"))  # noqa: S704 (SVG of our own, all escaped)


def _in_few_letters(day: date, with_year: bool) -> str:
    return manner.few_letters(day, with_year=with_year)


PlanHere = Annotated[Foreseen, Depends(plan_here, scope="function")]
