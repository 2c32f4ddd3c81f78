"""The page at the table: the band itself is counted on. Plain forms; its script also works away from the network."""

import secrets
from collections.abc import Callable
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

from fastapi import APIRouter, Depends
from fastapi.responses import Response

from service.errors import Conflict, Unreadable
from service.reckoning.asked import Wrong
from service.reckoning.in_hand import counted_to
from service.reckoning.operations import operation_named
from service.records.db import Writing
from service.records.queries.drawn import drawn_rows
from service.records.queries.needles import in_her_name, open_needles
from service.records.queries.standing import OPEN
from service.records.queries.table import own_entries, recent_keys, step_in_hand
from service.records.tables.sittings import LEAST_REST_MINUTES, MOST_NEEDLES, MOST_REST_MINUTES
from service.studio.hands import whose_else
from service.studio.log import MOST_COUNTED, MOST_MINUTES, TallyAsk, take_back
from service.studio.moving import ONCE
from service.studio.needle_time import needle_seconds_today
from service.studio.needles import NeedleAsk, count_needles
from service.studio.plain_counts import add_shortly
from service.studio.sent_in import newest_of
from service.studio.sign_in import Person
from service.studio.slips import fastest_ms
from service.studio.table_wishes import light_was_named, set_rest, wishes_of
from service.web.amount_words import kept_amount, kept_of_one
from service.web.deps import Desk, Id, Now, Reads, SignedIn, SignedInDesk, Writes
from service.web.forms import Form, Typed
from service.web.learning import learning_here, learning_of
from service.web.mark_words import facts_of_lines
from service.web.render import STATIC
from service.web.step_words import step_drawing
from service.web.steps import Place, following_from, place_at
from service.web.table_words import (
    InHand,
    as_data,
    cautions_of,
    hoop_of,
    in_hand,
    makes_bundles,
    needle_time,
    undo_as_data,
)

router = APIRouter(include_in_schema=False)
WORKER = "keeping-worker.js"
ALL_AT_ONCE = "end"


@router.get("/table")
def show_step_in_hand(desk: SignedInDesk, person: SignedIn, db: Reads) -> Response:
    step_id = step_in_hand(db, person.id)
    return desk.go("/" if step_id is None else f"/steps/{step_id}/table")


@router.get("/waiting")
def show_waiting(desk: SignedInDesk) -> Response:
    return desk.page("garments/waiting.html", "table")


@router.get(f"/{WORKER}")
def show_worker() -> Response:
    """Served at the top, so that it may answer for every page of the studio."""
    script = (STATIC / WORKER).read_bytes()
    return Response(script, media_type="text/javascript", headers={"Cache-Control": "no-cache"})


@router.get("/steps/{step_id}/table", dependencies=[Depends(learning_here)])
def show_table(desk: SignedInDesk, person: SignedIn, db: Reads, step_id: Id) -> Response:
    place = place_at(db, person, step_id)
    if place.step.unit in ONCE:
        return desk.go(f"/steps/{step_id}")
    return _page(desk, person, db, place, Form())


@router.post("/steps/{step_id}/table")
def count_here(desk: SignedInDesk, person: SignedIn, form: Typed, db: Writes, at: Now, step_id: Id) -> Response:
    place = place_at(db, person, step_id)
    minutes = form.decimal("minutes", called="the minutes", most=MOST_MINUTES, needed=False)
    counted = _counted(form, in_hand(place.work), place.step.unit)
    ask = TallyAsk(form.raw("key"), counted or Decimal(0), minutes=minutes)
    return _acted(desk, person, form, db, step_id, lambda: add_shortly(db, person, step_id, ask, at))


@router.post("/steps/{step_id}/table/take-back")
def take_back_here(desk: SignedInDesk, person: SignedIn, form: Typed, db: Writes, at: Now, step_id: Id) -> Response:
    entry = form.number_of("entry", called="the count to take back")
    if entry not in {own.id for own in own_entries(db, step_id, person.id)}:
        form.fault("", "That is no count of yours on this step, or it was taken back already.")
    key = f"{form.raw('key')} {entry}"
    return _acted(desk, person, form, db, step_id, lambda: take_back(db, person, entry or 0, key, at))


@router.post("/steps/{step_id}/table/needles")
def count_needles_here(desk: SignedInDesk, person: SignedIn, form: Typed, db: Writes, at: Now, step_id: Id) -> Response:
    needles = form.whole("needles", called="the needles", least=0, most=MOST_NEEDLES)
    pins = form.whole("pins", called="the pins", least=0, most=MOST_NEEDLES)
    ask = NeedleAsk(form.raw("key"), form.raw("way"), needles or 0, pins or 0)
    return _acted(desk, person, form, db, step_id, lambda: count_needles(db, person, step_id, ask, at))


@router.post("/steps/{step_id}/table/rest")
def change_rest(desk: SignedInDesk, person: SignedIn, form: Typed, db: Writes, step_id: Id) -> Response:
    place_at(db, person, step_id)
    bounds = {"least": LEAST_REST_MINUTES, "most": MOST_REST_MINUTES}
    minutes = form.whole("rest_minutes", called="the minutes", needed=False, **bounds)
    return _acted(desk, person, form, db, step_id, lambda: set_rest(db, person.id, minutes))


@router.post("/steps/{step_id}/table/light")
def read_light(desk: SignedInDesk, person: SignedIn, db: Writes, at: Now, step_id: Id) -> Response:
    place_at(db, person, step_id)
    light_was_named(db, person.id, at)
    return desk.go(f"/steps/{step_id}/table")


def _counted(form: Form, hand: InHand, unit: str) -> Decimal | None:
    """What must be counted for the number that was reached, or for the button that was pressed."""
    if form.raw("to") == ALL_AT_ONCE:
        reached: Decimal | None = Decimal(str(hand.now.whole))
    else:
        form.values.setdefault("reached", "")
        form.values["reached"] = form.raw("to") or form.raw("reached")
        reached = form.decimal("reached", called=f"the {hand.one} you reached", most=MOST_COUNTED, above=True)
    if reached is None:
        return None
    try:
        counted_to([each.whole for each in hand.passes], hand.before + hand.done, float(reached))
    except Wrong as wrong:
        form.fault("reached", f"The {hand.one} you reached {wrong.sentence}.")
        return None
    kept = [kept_amount(each, unit) for each in (reached, Decimal(str(hand.done)))]
    return round(kept[0] - kept[1], 1).normalize()


def _acted(desk: Desk, person: Person, form: Form, db: Writing, step_id: int, act: Callable[[], object]) -> Response:
    """Do it and go back to the page; what is refused is said, and nothing of it is kept."""
    if not form.wrong:
        try:
            act()
        except Unreadable as refused:
            for field, sentence in refused.faults.items():
                form.fault("reached" if field == "counted" else "" if field in {"key", "way"} else field, sentence)
        except Conflict as refused:
            form.fault("", refused.sentence)
        else:
            return desk.go(f"/steps/{step_id}/table")
    db.rollback()
    return _page(desk, person, db, place_at(db, person, step_id), form, status=422)


def _page(desk: Desk, person: Person, db: Any, place: Place, form: Form, *, status: int = 200) -> Response:
    step, garment = place.step, place.garment
    assert step.id is not None
    assert garment.id is not None
    at = datetime.now(UTC)
    hand, own = in_hand(place.work), own_entries(db, step.id, person.id)
    following, wishes = following_from(db, person, place), wishes_of(db, person.id)
    after = None if following is None else place_at(db, person, following.id).work
    form.values.setdefault("rest_minutes", str(wishes.rest_minutes or ""))
    return desk.page(
        "garments/at_the_table.html",
        "table",
        status=status,
        form=form,
        place=place,
        step=step,
        garment=garment,
        name=place.line.state.section or place.line.state.panel or garment.name,
        hand=hand,
        data=as_data(hand),
        kept_of_one=kept_of_one(step.unit),
        known_keys=" ".join(recent_keys(db, step.id, person.id)),
        own_counts=undo_as_data(own),
        cannot_be_undone=operation_named(step.operation).cannot_be_undone,
        fastest_ms=round(fastest_ms(db, learning_of(desk.request).newest(db), person, step.id, at)),
        most_minutes=MOST_MINUTES,
        most_needles=MOST_NEEDLES,
        own=own,
        newest=newest_of(db, step.id),
        left_tenths=step.quantity_tenths - step.done_tenths,
        facts=facts_of_lines(db, person, place.work),
        holder=whose_else(db, person, garment, step.panel_id),
        may_count=garment.state in OPEN and place.is_hers,
        drawing=step_drawing(place.work, drawn_rows(db, [garment.id])[garment.id]),
        cautions=cautions_of(place.work),
        following=following,
        hoop=hoop_of(place.work),
        may_steer=makes_bundles(place.work),
        cautions_after=[] if after is None else cautions_of(after),
        hoop_after="" if after is None else hoop_of(after),
        wishes=wishes,
        needles=in_her_name(db, person.id, garment.id),
        missing=[each for each in open_needles(db, garment.id) if not each.is_sitting],
        key=secrets.token_urlsafe(18),
        needle_seconds=(seconds := needle_seconds_today(db, person.id, at)),
        needle_time=needle_time(seconds),
        told_at=int(at.timestamp() * 1000),
    )
