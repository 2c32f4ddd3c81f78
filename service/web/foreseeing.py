"""The diary's plan, as routes ask for it; what is behind is made anew after the answer has left."""

from typing import Annotated

from fastapi import BackgroundTasks, Depends, Request

from service.records.db import Database
from service.studio.diary import Foreseen
from service.studio.foresight import Foresight
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


PlanHere = Annotated[Foreseen, Depends(plan_here, scope="function")]
