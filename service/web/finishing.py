"""The finishing page of a garment: its list, what goes back to the shelf, and when it is finished and delivered."""

from collections.abc import Callable
from typing import Any

from fastapi import APIRouter
from fastapi.responses import Response
from sqlalchemy import select
from sqlmodel import col

from service.errors import Conflict, Unreadable
from service.records.db import Reading, Writing
from service.records.queries.garments import parts_of
from service.records.queries.papers import cloths_cut, panel_cloths, supplies_used
from service.records.tables import Garment, Supply
from service.studio import finishing, supplies
from service.studio.cloth_lengths import Moved, move_cloth
from service.studio.nothing_open import sharps_open
from service.studio.sign_in import Person
from service.web.amount_words import on_shelf, typed_for_shelf, unit_of
from service.web.deps import Desk, Id, Now, Owner, OwnerDesk, Reads, SignedIn, SignedInDesk, Writes
from service.web.forms import Form, Typed
from service.web.papers import seen_garment
from service.web.words import LONG_UNIT, cloth_length

router = APIRouter(include_in_schema=False, prefix="/garments")
USED = {"used": "used for this piece", "given back": "given back to the shelf"}


@router.get("/{garment_id}/finishing")
def show_finishing(desk: SignedInDesk, person: SignedIn, db: Reads, garment_id: Id) -> Response:
    return _page(desk, person, db, garment_id, Form({"day": desk.today.isoformat()}))


@router.post("/{garment_id}/finishing")
def see_to(desk: SignedInDesk, person: SignedIn, form: Typed, db: Writes, at: Now, garment_id: Id) -> Response:
    note = form.text("note", called="the note", most=1000, needed=False)
    what = form.raw("what")
    try:
        if not form.wrong:
            check = finishing.Check(what, "", done=not form.ticked("undone"), note=note)
            finishing.see_to(db, person, garment_id, check, at)
    except Unreadable as refused:
        form.errors = {f"note-{what}": sentence for sentence in refused.faults.values()}
        form.values[f"note-{what}"] = note
    if form.wrong:
        return _page(desk, person, db, garment_id, form, 422)
    return desk.go(f"/garments/{garment_id}/finishing")


@router.post("/{garment_id}/finish")
def call_finished(desk: OwnerDesk, owner: Owner, form: Typed, db: Writes, at: Now, garment_id: Id) -> Response:
    reason = form.text("reason", called="the reason", most=1000, needed=False)
    if not form.wrong:
        _refused(form, lambda: finishing.call_finished(db, owner, garment_id, reason, at))
    if form.wrong:
        return _page(desk, owner, db, garment_id, form, 422)
    return desk.go(f"/garments/{garment_id}/finishing")


@router.post("/{garment_id}/deliver")
def deliver(desk: OwnerDesk, owner: Owner, form: Typed, db: Writes, at: Now, garment_id: Id) -> Response:
    day = form.day("day", called="the day of delivery")
    by = form.text("by", called="by whom it was delivered")
    if not form.wrong and day is not None:
        _refused(form, lambda: finishing.deliver_on(db, owner, garment_id, (day, by), at))
    if form.wrong:
        return _page(desk, owner, db, garment_id, form, 422)
    return desk.go(f"/garments/{garment_id}")


@router.post("/{garment_id}/give-back")
def give_cloth_back(desk: OwnerDesk, owner: Owner, form: Typed, db: Writes, at: Now, garment_id: Id) -> Response:
    assert desk.studio
    seen_garment(db, owner, garment_id)
    cloth_id = form.number_of("cloth", called="the cloth")
    length_um = form.length_um("length", LONG_UNIT[desk.studio.length_unit], called="the length", above=True)
    taken = {cloth.id for cloth in panel_cloths(db, [garment_id])[garment_id]}
    if cloth_id is not None and cloth_id not in taken:
        form.fault("cloth", "Choose a cloth of this garment.")
    if not form.wrong and cloth_id is not None and length_um is not None:
        _refused(form, lambda: move_cloth(db, owner, cloth_id, _left_over(garment_id, length_um), at))
    if form.wrong:
        return _page(desk, owner, db, garment_id, form, 422)
    return desk.go(f"/garments/{garment_id}/finishing#shelf")


@router.post("/{garment_id}/supplies")
def tell_supply(desk: OwnerDesk, owner: Owner, form: Typed, db: Writes, at: Now, garment_id: Id) -> Response:
    seen_garment(db, owner, garment_id)
    supply_id = form.number_of("supply", called="what was used")
    kind = form.choice("kind", USED, called="whether it was used or given back")
    supply = None if supply_id is None else db.get(Supply, supply_id)
    amount = typed_for_shelf(form, "amount", supply.unit if supply else "", above=True)
    if not form.wrong and supply_id is not None and amount is not None:
        change = amount * (-1 if kind == "used" else 1)
        moved = supplies.Moved("cut" if kind == "used" else "given back", change, "", garment_id)
        _refused(form, lambda: supplies.move_supply(db, supply_id, moved, owner.id, at))
    if form.wrong:
        return _page(desk, owner, db, garment_id, form, 422)
    return desk.go(f"/garments/{garment_id}/finishing#shelf")


def _left_over(garment_id: int, length_um: int) -> Moved:
    return Moved("given back", length_um, "left over", garment_id)


def _refused(form: Form, act: Callable[[], object]) -> None:
    """Do it, or let the form say why it cannot be done."""
    try:
        act()
    except Unreadable as refused:
        form.errors = dict(refused.faults)
    except Conflict as refused:
        form.fault("", refused.sentence)


def _page(
    desk: Desk, person: Person, db: Reading | Writing, garment_id: int, form: Form, status: int = 200
) -> Response:
    assert desk.studio
    garment = seen_garment(db, person, garment_id)
    parts = parts_of(db, garment_id)
    checks = finishing.checks_of(db, garment_id, parts.sections, parts.steps)
    form.values.setdefault("by", person.name)
    form.values.setdefault("day", desk.today.isoformat())
    return desk.page(
        "garments/finishing.html",
        "table",
        status=status,
        form=form,
        garment=garment,
        checks=checks,
        seen_to=sum(check.done for check in checks),
        sharps_open=sharps_open(db, garment_id),
        **(_shelf(db, garment, desk.studio.length_unit) if person.is_owner else {}),
    )


def _shelf(db: Reading | Writing, garment: Garment, unit: str) -> dict[str, Any]:
    number = garment.id or 0
    kept = select(col(Supply.id), col(Supply.name), col(Supply.unit)).where(col(Supply.put_away).is_(False))
    used = [(one.name, cloth_length(one.amount, unit)) for one in cloths_cut(db, [number])]
    used += [
        (one.name, f"{on_shelf(one.amount, one.unit)} {unit_of(round(one.amount / 100), one.unit)}")
        for one in supplies_used(db, [number])
    ]
    return {
        "used": used,
        "cloths": [(cloth.id, cloth.name) for cloth in panel_cloths(db, [number])[number]],
        "supplies": [
            (row.id, f"{row.name} ({unit_of(20, row.unit)})")
            for row in db.execute(kept.order_by(col(Supply.name)).limit(500))
        ],
        "kinds": list(USED.items()),
        "long_unit": LONG_UNIT[unit],
    }
