"""The pages that follow the first one of an empty studio: money and units, stitchers' hours, the first cloth.

Each may be passed over, and says only what Settings, Stitchers and Cloth can say later as well.
"""

from dataclasses import asdict, replace

from fastapi import APIRouter
from fastapi.responses import Response

from service.errors import Unreadable
from service.languages.spoken import KEY, LANGUAGES
from service.records.db import Reading, Writing
from service.records.tables import Studio
from service.records.tables.people import WEEKDAYS
from service.records.tables.studio import LENGTH_UNITS
from service.studio import cloth as shelf
from service.studio import stitchers
from service.studio.charges import charges_of, usual_charges, write_charges
from service.studio.studio_settings import change_studio, facts_of
from service.web import manner
from service.web.cloth_forms import counting_from, facts_from, name_places, over_to_begin_with
from service.web.deps import Desk, Now, Owner, OwnerDesk, Reads, Writes
from service.web.forms import Form, Typed
from service.web.offered import codes, currencies, time_zones
from service.web.stitchers import DAYS, hours_as_typed, minutes_from
from service.web.words import LONG_UNIT

router = APIRouter(include_in_schema=False, prefix="/first-run")
FIRST_PLACES = (1, 2, 3)
OTHERS = (1, 2, 3)
WORKING_DAYS = 5


@router.get("/money")
def show_money(desk: OwnerDesk, db: Reads) -> Response:
    studio = db.get_one(Studio, 1)
    return _money_page(desk, db, Form({name: str(value) for name, value in asdict(facts_of(studio)).items()}))


@router.post("/money")
def write_money(desk: OwnerDesk, form: Typed, db: Writes, at: Now, owner: Owner) -> Response:
    kept = facts_of(db.get_one(Studio, 1))
    facts = replace(
        kept,
        currency=form.choice("currency", codes(currencies()), called="a currency"),
        time_zone=form.choice("time_zone", codes(time_zones()), called="a time zone"),
        length_unit=form.choice("length_unit", LENGTH_UNITS, called="a unit of length"),
        count_unit=form.choice("count_unit", LENGTH_UNITS, called="how threads are counted"),
        numbers=form.choice("numbers", codes(manner.offered()), called="how numbers are written", needed=False)
        or kept.numbers,
        language=form.choice("language", LANGUAGES, called="a language", needed=False) or kept.language,
    )
    rate = form.money_minor("hour_rate", facts.currency or "EUR", called="what an hour costs")
    if rate == 0:
        form.fault("hour_rate", "What an hour costs must be above nothing. Leave it empty if you do not know yet.")
    if form.wrong:
        return _money_page(desk, db, form, 422)
    change_studio(db, facts)
    if rate is not None and charges_of(db) is None:
        charges, parts = usual_charges(facts.currency, rate)
        write_charges(db, charges, parts, owner.id, at)
    return desk.go("/first-run/hours")


@router.get("/hours")
def show_hours(desk: OwnerDesk, db: Reads, owner: Owner) -> Response:
    mine = {} if owner.stitcher_id is None else hours_as_typed(stitchers.stitcher_with(db, owner.stitcher_id))
    return _hours_page(desk, Form(mine))


@router.post("/hours")
def write_hours(desk: OwnerDesk, form: Typed, db: Writes, at: Now, owner: Owner) -> Response:
    mine = minutes_from(form)
    others = [other for other in (_other(form, place) for place in OTHERS) if other is not None]
    if form.wrong:
        return _hours_page(desk, form, 422)
    if owner.stitcher_id is not None:
        stitchers.change_hours(db, owner.stitcher_id, mine)
    for other in others:
        stitchers.add_stitcher(db, other, at)
    return desk.go("/first-run/cloth")


def _other(form: Form, place: int) -> stitchers.StitcherFacts | None:
    """Whoever else stitches: so many hours on every working day; nobody when nothing was typed in her row."""
    if not form.raw(f"other-{place}") and not form.raw(f"other-{place}-hours"):
        return None
    name = form.text(f"other-{place}", called="her name")
    minutes = form.minutes_of_day(f"other-{place}-hours", called="her hours a day")
    week = [minutes] * WORKING_DAYS + [0] * (len(WEEKDAYS) - WORKING_DAYS)
    return stitchers.StitcherFacts(name=name, minutes=tuple(week), pay_minor_per_hour=None, notes="")


@router.get("/cloth")
def show_first_cloth(desk: OwnerDesk) -> Response:
    assert desk.studio
    return _cloth_page(desk, Form({"over": over_to_begin_with(desk.studio, None)}))


@router.post("/cloth")
def write_first_cloth(desk: OwnerDesk, form: Typed, db: Writes, at: Now) -> Response:
    assert desk.studio
    assert desk.person
    facts, counting = facts_from(form, desk.studio), counting_from(form, desk.studio)
    long_unit = LONG_UNIT[desk.studio.length_unit]
    on_hand_um = form.length_um("on_hand", long_unit, called="the length on hand", needed=False, above=False)
    for system in ("warp", "weft"):
        if not any(place.system == system for place in counting.places):
            form.fault(
                f"{system}-1", f"Count the {system} threads at one place at least: the two nearly always differ."
            )
    if form.wrong:
        return _cloth_page(desk, form, 422)
    cloth = shelf.add_cloth(db, desk.person, facts, on_hand_um or 0, at)
    assert cloth.id is not None
    try:
        shelf.add_readings(db, desk.person, cloth.id, counting, at)
    except Unreadable as refused:
        db.rollback()
        for field, sentence in refused.faults.items():
            form.fault(field, sentence)
        name_places(form)
        return _cloth_page(desk, form, 422)
    return desk.go("/")


def _money_page(desk: Desk, db: Reading | Writing, form: Form, status: int = 200) -> Response:
    return desk.page(
        "first_day/money.html",
        "first",
        status=status,
        form=form,
        zones=time_zones(),
        currencies=currencies(),
        manners=manner.offered(desk.studio.language if desk.studio else KEY),
        languages=tuple(LANGUAGES.items()),
        is_charged=charges_of(db) is not None,
    )


def _hours_page(desk: Desk, form: Form, status: int = 200) -> Response:
    days = list(zip(WEEKDAYS, DAYS, strict=True))
    return desk.page("first_day/hours.html", "first", status=status, form=form, days=days, others=OTHERS)


def _cloth_page(desk: Desk, form: Form, status: int = 200) -> Response:
    return desk.page("first_day/cloth.html", "first", status=status, form=form, places=FIRST_PLACES)
