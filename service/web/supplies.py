"""Pages of supplies. Prices are the owner's alone, and so are these pages."""

from fastapi import APIRouter
from fastapi.responses import Response

from service.errors import Unreadable
from service.languages.spoken import unit_now
from service.records.db import Reading, Writing
from service.records.queries.supplies import supplies_by_name, uses_of
from service.records.tables import Supply
from service.records.tables.cloth import SUPPLY_KINDS, SUPPLY_UNITS
from service.studio import supplies
from service.web.amount_words import price_shown, price_to_keep, typed_for_shelf
from service.web.as_seen import held
from service.web.deps import Desk, Id, Now, Owner, OwnerDesk, Reads, Writes
from service.web.forms import Form, Typed
from service.web.money_words import money_typed

router = APIRouter(include_in_schema=False, prefix="/supplies")
MOVES = {"bought": "came in", "cut": "went out", "corrected": "is on hand by count"}


@router.get("")
def show_supplies(desk: OwnerDesk, db: Reads, q: str = "", away: bool = False) -> Response:
    found = supplies_by_name(db, q[:200], put_away=away)
    return desk.page("supplies/supplies.html", "supplies", block="found", supplies=found, q=q, away=away)


@router.get("/new")
def show_new_supply(desk: OwnerDesk) -> Response:
    return _form_page(desk, Form({"kind": "lace", "unit": "m"}), None)


@router.post("")
def add_supply(desk: OwnerDesk, form: Typed, db: Writes, at: Now, owner: Owner) -> Response:
    facts = _facts(desk, form)
    amount = typed_for_shelf(form, "amount", facts.unit, needed=False)
    if form.wrong:
        return _form_page(desk, form, None, 422)
    supply = supplies.add_supply(db, facts, at)
    assert supply.id is not None
    if amount:
        supplies.move_supply(db, supply.id, supplies.Moved("bought", amount, "on hand at first"), owner.id, at)
    return desk.go(f"/supplies/{supply.id}")


@router.get("/{supply_id}")
def show_supply(desk: OwnerDesk, db: Reads, supply_id: Id) -> Response:
    return _page(desk, db, supplies.supply_with(db, supply_id), Form({"kind": "bought"}))


@router.get("/{supply_id}/change")
def show_change_supply(desk: OwnerDesk, db: Reads, supply_id: Id) -> Response:
    supply = supplies.supply_with(db, supply_id)
    return _form_page(desk, _filled(desk, supply), supply)


@router.post("/{supply_id}/change")
def change_supply(desk: OwnerDesk, form: Typed, db: Writes, supply_id: Id) -> Response:
    supply, facts = supplies.supply_with(db, supply_id), _facts(desk, form)
    if form.wrong:
        return _form_page(desk, form, supply, 422)
    supplies.change_supply(db, supply_id, facts)
    return desk.go(f"/supplies/{supply_id}")


@router.post("/{supply_id}/move")
def move_supply(desk: OwnerDesk, form: Typed, db: Writes, at: Now, owner: Owner, supply_id: Id) -> Response:
    supply = held(db, supplies.supply_with(db, supply_id))
    kind = form.choice("kind", MOVES, called="whether it came or went")
    amount = typed_for_shelf(form, "amount", supply.unit, above=kind != "corrected")
    reason = form.text("reason", called="the reason", most=500, needed=kind == "corrected")
    if not form.wrong and amount is not None:
        change = {"bought": amount, "cut": -amount}.get(kind, amount - supply.on_hand_thousandths)
        try:
            supplies.move_supply(db, supply_id, supplies.Moved(kind, change, reason), owner.id, at)
        except Unreadable as refused:
            form.errors = dict(refused.faults)
    if form.wrong:
        return _page(desk, db, supply, form, 422)
    return desk.go(f"/supplies/{supply_id}")


@router.post("/{supply_id}/put-away")
def put_supply_away(desk: OwnerDesk, form: Typed, db: Writes, supply_id: Id) -> Response:
    supplies.put_supply_away(db, supply_id, away=form.ticked("away"))
    if form.ticked("away"):
        desk.may_undo("It is put away.", f"/supplies/{supply_id}/put-away")
    return desk.go(f"/supplies/{supply_id}")


def _page(desk: Desk, db: Reading | Writing, supply: Supply, form: Form, status: int = 200) -> Response:
    assert supply.id is not None
    return desk.page(
        "supplies/supply.html",
        "supplies",
        status=status,
        form=form,
        supply=supply,
        uses=uses_of(db, supply.id),
        moves=list(MOVES.items()),
    )


def _form_page(desk: Desk, form: Form, supply: Supply | None, status: int = 200) -> Response:
    return desk.page(
        "supplies/supply_form.html",
        "supplies",
        status=status,
        form=form,
        supply=supply,
        kinds=[(kind, kind) for kind in SUPPLY_KINDS],
        units=[
            (unit, {"m": "yards" if unit_now() == "in" else "metres", "piece": "pieces", "skein": "skeins"}[unit])
            for unit in SUPPLY_UNITS
        ],
    )


def _facts(desk: Desk, form: Form) -> supplies.SupplyFacts:
    assert desk.studio is not None
    unit = form.choice("unit", SUPPLY_UNITS, called="how it is counted")
    return supplies.SupplyFacts(
        name=form.text("name", called="a name"),
        kind=form.choice("kind", SUPPLY_KINDS, called="what it is"),
        unit=unit,
        price_minor=price_to_keep(form.money_minor("price", desk.studio.currency, called="the price"), unit),
        notes=form.text("notes", called="the notes", most=10_000, needed=False),
    )


def _filled(desk: Desk, supply: Supply) -> Form:
    assert desk.studio is not None
    price = None if supply.price_minor is None else price_shown(supply.price_minor, supply.unit)
    return Form(
        {
            "name": supply.name,
            "kind": supply.kind,
            "unit": supply.unit,
            "price": "" if price is None else str(money_typed(price, desk.studio.currency)),
            "notes": supply.notes,
        }
    )
