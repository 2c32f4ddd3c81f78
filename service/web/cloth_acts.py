"""Pages where something is done with a cloth: its threads counted, a length cut or come in, a swatch washed."""

from typing import Any

from fastapi import APIRouter
from fastapi.responses import Response

from service.errors import Unreadable
from service.reckoning.asked import Wrong
from service.records.db import Reading, Writing
from service.records.queries import cloth as queries
from service.studio import cloth as shelf
from service.studio.cloth_lengths import Measured, correct_length, move_cloth
from service.studio.cloth_swatches import Washing, keep_swatch
from service.web.cloth_forms import (
    PLACES,
    SWATCH_PLACES,
    counting_from,
    moved_from,
    name_places,
    over_to_begin_with,
    put_wrong,
    swatch_from,
)
from service.web.deps import Beyond, Desk, Id, Now, OwnerDesk, Reads, SignedInDesk, Writes
from service.web.forms import Form, Typed
from service.web.words import LONG_UNIT

router = APIRouter(include_in_schema=False, prefix="/cloth")


@router.get("/{cloth_id}/count")
def show_counting(desk: SignedInDesk, db: Reads, cloth_id: Id, again: bool = False) -> Response:
    assert desk.studio
    last = queries.readings_of(db, cloth_id)[:1]
    over = over_to_begin_with(desk.studio, last[0].reading.over_um if last else None)
    return _counting_page(desk, db, cloth_id, Form({"over": over, "instead": "yes" if again else ""}))


@router.post("/{cloth_id}/count")
def count(desk: SignedInDesk, form: Typed, db: Writes, at: Now, cloth_id: Id) -> Response:
    assert desk.studio
    assert desk.person
    counting = counting_from(form, desk.studio)
    if not form.wrong:
        try:
            shelf.add_readings(db, desk.person, cloth_id, counting, at)
        except Unreadable as refused:
            _put(form, refused)
            name_places(form)
    if form.wrong:
        return _counting_page(desk, db, cloth_id, form, 422)
    return desk.go(f"/cloth/{cloth_id}")


@router.post("/readings/{reading_id}/set-aside")
def set_aside(desk: SignedInDesk, form: Typed, db: Writes, at: Now, reading_id: Id) -> Response:
    assert desk.person
    cloth_id = shelf.set_reading_aside(db, desk.person, reading_id, aside=form.ticked("aside"), at=at)
    return desk.go(f"/cloth/{cloth_id}#readings")


@router.get("/{cloth_id}/length")
def show_lengths(desk: OwnerDesk, db: Reads, cloth_id: Id, before: Beyond = None) -> Response:
    return _length_page(desk, db, cloth_id, Form(), before=before)


@router.post("/{cloth_id}/length")
def move_length(desk: OwnerDesk, form: Typed, db: Writes, at: Now, cloth_id: Id) -> Response:
    assert desk.studio
    assert desk.person
    moved = moved_from(form, desk.studio)
    if not form.wrong:
        try:
            move_cloth(db, desk.person, cloth_id, moved, at)
        except Unreadable as refused:
            _put(form, refused)
    if form.wrong:
        return _length_page(desk, db, cloth_id, form, 422)
    return desk.go(f"/cloth/{cloth_id}/length")


@router.post("/{cloth_id}/measured")
def measure_length(desk: OwnerDesk, form: Typed, db: Writes, at: Now, cloth_id: Id) -> Response:
    assert desk.studio
    assert desk.person
    unit = LONG_UNIT[desk.studio.length_unit]
    on_hand_um = form.length_um("measured", unit, called="the length measured", above=False)
    why = form.text("why", called="why the book said something else", most=1000)
    if not form.wrong:
        try:
            correct_length(db, desk.person, cloth_id, Measured(on_hand_um or 0, why), at)
        except Unreadable as refused:
            _put(form, refused)
    if form.wrong:
        return _length_page(desk, db, cloth_id, form, 422)
    return desk.go(f"/cloth/{cloth_id}/length")


@router.get("/{cloth_id}/swatch")
def show_swatch(desk: OwnerDesk, db: Reads, cloth_id: Id) -> Response:
    return _swatch_page(desk, db, cloth_id, Form())


@router.post("/{cloth_id}/swatch")
def wash_swatch(desk: OwnerDesk, form: Typed, db: Writes, at: Now, cloth_id: Id) -> Response:
    assert desk.studio
    assert desk.person
    how = form.text("washed", called="how it was washed", most=500, needed=False)
    lengths = swatch_from(form, desk.studio)
    if not form.wrong:
        try:
            keep_swatch(db, desk.person, cloth_id, Washing(lengths, how), at)
        except Wrong as wrong:
            put_wrong(form, wrong)
    if form.wrong:
        return _swatch_page(desk, db, cloth_id, form, 422)
    return desk.go(f"/cloth/{cloth_id}#washing")


def _put(form: Form, refused: Unreadable) -> None:
    for field, sentence in refused.faults.items():
        form.fault(field, sentence)


def _counting_page(desk: Desk, db: Reading | Writing, cloth_id: int, form: Form, status: int = 200) -> Response:
    cloth = shelf.cloth_with(db, cloth_id)
    now = shelf.current_counts(db, cloth_id)
    shown: dict[str, Any] = {"form": form, "cloth": cloth, "now": now, "places": PLACES}
    return desk.page("cloth/count.html", "cloth", status=status, **shown)


def _length_page(
    desk: Desk, db: Reading | Writing, cloth_id: int, form: Form, status: int = 200, before: int | None = None
) -> Response:
    cloth = shelf.cloth_with(db, cloth_id)
    rows = queries.uses_of(db, cloth_id, before)
    uses = rows[: queries.PAGE]
    further = uses[-1].use.id if len(rows) > queries.PAGE else None
    garments = [("", "no garment"), *queries.garments_to_cut_for(db)]
    shown: dict[str, Any] = {"form": form, "cloth": cloth, "uses": uses, "further": further, "before": before}
    return desk.page("cloth/length.html", "cloth", status=status, garments=garments, **shown)


def _swatch_page(desk: Desk, db: Reading | Writing, cloth_id: int, form: Form, status: int = 200) -> Response:
    cloth = shelf.cloth_with(db, cloth_id)
    return desk.page("cloth/swatch.html", "cloth", status=status, form=form, cloth=cloth, places=SWATCH_PLACES)
