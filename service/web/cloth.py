"""Pages of the cloth shelf: what lies there, what is written of it, how it counts."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter
from fastapi.responses import Response

from service.reckoning.designs import ClothCounts
from service.reckoning.findings import Finding
from service.reckoning.shrink import ShrinkTest
from service.records.db import Reading
from service.records.queries import cloth as queries
from service.records.tables import Cloth, ClothSwatch, Studio
from service.studio import cloth as shelf
from service.studio.cloth import CountsNow
from service.studio.cloth_swatches import expected_after, test_from
from service.studio.fibres import fibres_of, fibres_told
from service.web.amount_words import price_shown
from service.web.as_seen import held, is_as_seen, marked
from service.web.cloth_forms import facts_as_typed, facts_from
from service.web.deps import Beyond, Desk, Id, Now, OwnerDesk, Reads, SignedInDesk, Writes
from service.web.forms import Form, Typed
from service.web.money_words import money_typed
from service.web.words import LONG_UNIT

router = APIRouter(include_in_schema=False, prefix="/cloth")


@dataclass(frozen=True, slots=True)
class ShelfLine:
    """One cloth of the shelf with its counts."""

    cloth: Cloth
    now: CountsNow


@dataclass(frozen=True, slots=True)
class Moved:
    """A garment whose cloth counts otherwise now than when it was planned."""

    garment_id: int
    name: str
    finding: Finding


@dataclass(frozen=True, slots=True)
class Washed:
    """The swatch washed last: what it showed, and what the cloth should then count, if nobody has counted since."""

    rows: Sequence[ClothSwatch]
    test: ShrinkTest
    expected: ClothCounts | None


@dataclass(frozen=True, slots=True)
class Recount:
    """One change of what counts, with the counts before and after it."""

    row: queries.RecountRow
    before: dict[str, float | None]
    after: dict[str, float | None]


@router.get("")
def show_shelf(desk: SignedInDesk, db: Reads, q: str = "", away: bool = False, after: Beyond = None) -> Response:
    rows = queries.cloths_by_name(db, q[:200], put_away=away, after=after)
    page = rows[: queries.PAGE]
    read = queries.readings_that_count(db, [cloth.id for cloth in page if cloth.id is not None])
    lines = [ShelfLine(cloth, shelf.counts_from(read.get(cloth.id or 0, []))) for cloth in page]
    further = page[-1].id if len(rows) > queries.PAGE else None
    asked: dict[str, Any] = {"q": q, "away": away, "after": after, "further": further}
    return desk.page("cloth/shelf.html", "cloth", block="found", lines=lines, **asked)


@router.get("/new")
def show_new_cloth(desk: OwnerDesk) -> Response:
    return _facts_page(desk, Form(), None)


@router.post("")
def add_cloth(desk: OwnerDesk, form: Typed, db: Writes, at: Now) -> Response:
    assert desk.studio
    assert desk.person
    facts = facts_from(form, desk.studio)
    long_unit = LONG_UNIT[desk.studio.length_unit]
    on_hand_um = form.length_um("on_hand", long_unit, called="the length on hand", needed=False, above=False)
    if form.wrong:
        return _facts_page(desk, form, None, 422)
    cloth = shelf.add_cloth(db, desk.person, facts, on_hand_um or 0, at)
    return desk.go(f"/cloth/{cloth.id}/count")


@router.get("/{cloth_id}")
def show_cloth(desk: SignedInDesk, db: Reads, cloth_id: Id) -> Response:
    assert desk.person
    cloth = shelf.cloth_with(db, cloth_id)
    rows = queries.readings_of(db, cloth_id)
    readings = [row.reading for row in rows]
    now = shelf.counts_from(readings)
    return desk.page(
        "cloth/cloth.html",
        "cloth",
        cloth=cloth,
        fibres=fibres_told(fibres_of(db, [cloth_id])[cloth_id], cloth),
        now=now,
        count_findings=shelf.findings_of_counting(readings),
        cloth_findings=shelf.findings_about(cloth, now),
        moved=_moved(db, cloth_id, now, None if desk.person.is_owner else desk.person.stitcher_id or 0),
        washed=_washed(db, cloth_id, now, rows),
        rows=[row for row in rows if not row.reading.set_aside],
        aside=[row for row in rows if row.reading.set_aside],
        recounts=[_recount(row) for row in queries.recounts_of(db, cloth_id)],
    )


@router.get("/{cloth_id}/change")
def show_change_cloth(desk: OwnerDesk, db: Reads, cloth_id: Id) -> Response:
    assert desk.studio
    cloth = shelf.cloth_with(db, cloth_id)
    return _facts_page(desk, marked(_filled(cloth, desk.studio)), cloth)


@router.post("/{cloth_id}/change")
def change_cloth(desk: OwnerDesk, form: Typed, db: Writes, at: Now, cloth_id: Id) -> Response:
    assert desk.studio
    assert desk.person
    cloth, facts = shelf.cloth_with(db, cloth_id), facts_from(form, desk.studio)
    if form.wrong:
        return _facts_page(desk, form, cloth, 422)
    if not is_as_seen(form, _filled(held(db, cloth), desk.studio)):
        return _facts_page(desk, form, cloth, 409)
    shelf.change_cloth(db, desk.person, cloth_id, facts, at)
    return desk.go(f"/cloth/{cloth_id}")


@router.post("/{cloth_id}/put-away")
def put_cloth_away(desk: OwnerDesk, form: Typed, db: Writes, cloth_id: Id) -> Response:
    shelf.put_cloth_away(db, cloth_id, away=form.ticked("away"))
    if form.ticked("away"):
        desk.may_undo("It is put away.", f"/cloth/{cloth_id}/put-away")
    return desk.go(f"/cloth/{cloth_id}")


def _filled(cloth: Cloth, studio: Studio) -> Form:
    per_m = cloth.price_minor_per_m
    price = "" if per_m is None else str(money_typed(price_shown(per_m, "m"), studio.currency))
    return facts_as_typed(cloth, studio, price)


def _facts_page(desk: Desk, form: Form, cloth: Cloth | None, status: int = 200) -> Response:
    return desk.page("cloth/facts_form.html", "cloth", status=status, form=form, cloth=cloth)


def _moved(db: Reading, cloth_id: int, now: CountsNow, stitcher_id: int | None) -> list[Moved]:
    found = []
    for planned in queries.planned_on(db, cloth_id, stitcher_id):
        finding = shelf.counts_have_moved(ClothCounts(planned.warp_per_cm, planned.weft_per_cm), now)
        if finding is not None:
            found.append(Moved(planned.garment_id, planned.name, finding))
    return found


def _washed(db: Reading, cloth_id: int, now: CountsNow, rows: Sequence[queries.ReadingRow]) -> Washed | None:
    swatch = queries.last_swatch(db, cloth_id)
    if not swatch:
        return None
    test = test_from(swatch)
    counted_since = any(row.reading.read_at > swatch[0].measured_at for row in rows if not row.reading.set_aside)
    return Washed(swatch, test, None if counted_since else expected_after(now, test))


def _recount(row: queries.RecountRow) -> Recount:
    return Recount(row, json.loads(row.event.before), json.loads(row.event.after))
