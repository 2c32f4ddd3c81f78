"""The page that steers a row of bundles back: what was seen at the table, what to do about it, and keeping it."""

from typing import Any, cast

from fastapi import APIRouter
from fastapi.responses import Response

from service.errors import Conflict, Unreadable
from service.reckoning.asked import Wrong
from service.reckoning.steer import STEER_WAYS, Steered, SteerWay, in_words
from service.records.queries.standing import OPEN
from service.studio.steering import Mirror, Seen, mirrors_at, planned_left, row_of, steer_section, steering
from service.web.deps import Desk, Id, Now, Reads, SignedIn, SignedInDesk, Writes
from service.web.forms import Form, Typed
from service.web.steps import Place, place_at

router = APIRouter(include_in_schema=False, prefix="/steps")
MOST_THREADS = 100_000
MOST_MM = 100_000
TAKE_IT = "take"
FIELD_WORDS = {"reached": "The bundle you reached", "threads_left": "The threads left", "since": "Where it was right"}


@router.get("/{step_id}/steer")
def show_steering(desk: SignedInDesk, person: SignedIn, db: Reads, step_id: Id) -> Response:
    return _page(desk, db, place_at(db, person, step_id), Form())


@router.post("/{step_id}/steer")
def steer_here(desk: SignedInDesk, person: SignedIn, form: Typed, db: Writes, at: Now, step_id: Id) -> Response:
    place = place_at(db, person, step_id)
    seen = _seen(form)
    if form.wrong or form.raw("act") != TAKE_IT:
        return _page(desk, db, place, form, seen=None if form.wrong else seen, status=422 if form.wrong else 200)
    try:
        steer_section(db, person, step_id, seen, at)
    except (Unreadable, Wrong, Conflict) as refused:
        _say(form, refused)
        db.rollback()
        return _page(desk, db, place_at(db, person, step_id), form, status=422)
    return desk.go(f"/steps/{step_id}/table")


def _seen(form: Form) -> Seen:
    reached = form.whole("reached", called="the bundle you reached", least=1, most=MOST_THREADS)
    threads = form.whole("threads_left", called="the threads left", least=1, most=MOST_THREADS, needed=False)
    mm = form.decimal("mm_left", called="how far it is", most=MOST_MM, needed=False, above=True)
    since = form.whole("since", called="the bundle where it was right", most=MOST_THREADS, needed=False)
    way = form.raw("way") or STEER_WAYS[0]
    if way not in STEER_WAYS:
        form.fault("way", "Choose one of the two ways.")
    if threads is None and mm is None:
        form.fault("threads_left", "Enter the threads left to the stop line, or how far it is.")
    mm_left = None if mm is None else float(mm)
    return Seen(reached or 0, threads, mm_left, since or 0, cast("SteerWay", way), form.ticked("mirrors_too"))


def _say(form: Form, refused: Unreadable | Wrong | Conflict) -> None:
    if isinstance(refused, Wrong):
        form.fault(refused.field, f"{FIELD_WORDS.get(refused.field, 'That')} {refused.sentence}.")
    elif isinstance(refused, Unreadable):
        for field, sentence in refused.faults.items():
            form.fault(field, sentence)
    else:
        form.fault("", refused.sentence)


def _page(desk: Desk, db: Any, place: Place, form: Form, *, seen: Seen | None = None, status: int = 200) -> Response:
    try:
        section, never = row_of(db, place.step), ""
    except Conflict as refused:
        section, never = None, refused.sentence
    form.values.setdefault("reached", str(place.step.done_tenths // 10 or ""))
    steered: Steered | None = None
    words = ""
    mirrors: list[Mirror] = []
    if seen is not None and section is not None:
        try:
            ask, steered = steering(db, place.step, seen)
            words = in_words(ask, steered)
            mirrors = mirrors_at(db, section, ask, steered)
        except (Wrong, Unreadable) as refused:
            _say(form, refused)
            status = 422
    return desk.page(
        "garments/steer.html",
        "table",
        status=status,
        form=form,
        place=place,
        step=place.step,
        section=section,
        never=never,
        planned_left=0 if section is None else planned_left(section, place.step.done_tenths // 10),
        name=place.line.state.section or place.line.state.panel or place.garment.name,
        garment=place.garment,
        steered=steered,
        words=words,
        follow=[each.section.name for each in mirrors if each.steered.why_not is None],
        stay=[each.steered.why_not for each in mirrors if each.steered.why_not is not None],
        both_ways=[("at once", "At once, in the bundles next in turn"), ("spread", "Shared by all that are left")],
        may_steer=place.garment.state in OPEN and place.is_hers,
    )
