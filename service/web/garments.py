"""The page of one garment: what is done and left of it, in whose hands, its cloths, its log, its states."""

from collections.abc import Callable
from typing import Annotated, Any

from fastapi import APIRouter, BackgroundTasks, Depends
from fastapi.responses import Response

from service.errors import Conflict, Unreadable
from service.records.db import Database, Writing
from service.records.queries.standing import is_seen_by
from service.studio import standing
from service.studio.sign_in import Person
from service.web.deps import (
    Beyond,
    Desk,
    Id,
    Now,
    Owner,
    OwnerDesk,
    Reads,
    SignedIn,
    SignedInDesk,
    Writes,
    the_database,
)
from service.web.foreseeing import foresight_of, plan_here, road_of
from service.web.forms import Form, Typed
from service.web.garment_lines import written_as
from service.web.garment_told import Asked, told_of
from service.web.learning import learning_here, learning_of

router = APIRouter(include_in_schema=False, prefix="/garments")


@router.get("/{garment_id}")
def show_garment(
    desk: SignedInDesk,
    person: SignedIn,
    db: Reads,
    database: Annotated[Database, Depends(the_database)],
    background: BackgroundTasks,
    garment_id: Id,
    before: Beyond = None,
) -> Response:
    # Called from here: each as a dependency would be carried into a thread of its own and back.
    learning_here(desk.request, database, db, background)
    plan_here(desk, database, db, background)
    return _page(desk, person, db, garment_id, Form(), before)


@router.post("/{garment_id}/call-off")
def call_garment_off(desk: OwnerDesk, owner: Owner, form: Typed, db: Writes, at: Now, garment_id: Id) -> Response:
    why = form.text("reason", called="the reason", most=1000)
    return _acted(desk, owner, form, db, garment_id, lambda: standing.call_off(db, garment_id, why, owner.id, at))


@router.post("/{garment_id}/take-up")
def take_garment_up(desk: OwnerDesk, owner: Owner, form: Typed, db: Writes, at: Now, garment_id: Id) -> Response:
    why = form.text("reason", called="the reason", most=1000)
    return _acted(desk, owner, form, db, garment_id, lambda: standing.reopen(db, garment_id, why, owner.id, at))


def _acted(desk: Desk, person: Person, form: Form, db: Writing, garment_id: int, act: Callable[[], object]) -> Response:
    """Do it and go back to the page; what is refused is said on the page, and nothing of it is kept."""
    if not form.wrong:
        try:
            act()
        except Unreadable as refused:
            for field, sentence in refused.faults.items():
                form.fault(field, sentence)
        except Conflict as refused:
            form.fault("", refused.sentence)
        else:
            seen = person.is_owner or is_seen_by(db, garment_id, person.stitcher_id)
            return desk.go(f"/garments/{garment_id}" if seen else "/")
    db.rollback()
    return _page(desk, person, db, garment_id, form, None, 422)


def _page(
    desk: Desk, person: Person, db: Any, garment_id: int, form: Form, before: int | None, status: int = 200
) -> Response:
    assert desk.studio is not None
    asked = Asked(garment_id, before, desk.studio.time_zone, desk.studio.length_unit, written_as())
    told = told_of(db, person, asked)
    learning = learning_of(desk.request)
    plan = foresight_of(desk.request).newest(db, desk.today)
    return desk.page(
        "garments/garment.html",
        "table",
        status=status,
        form=form,
        garment=told.piece,
        told=told,
        likely=learning.hours_left(db, [garment_id])[garment_id],
        mostly_guesses=learning.newest(db).mostly_guesses,
        foreseen=plan.days_of(garment_id),
        road=road_of(plan, garment_id),
        today=desk.today,
        **told.between,
    )
