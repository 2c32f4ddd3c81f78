"""The page of the studio's settings."""

from datetime import UTC, datetime

from fastapi import APIRouter
from fastapi.responses import Response

from service.languages.spoken import KEY, LANGUAGES
from service.records.db import sqlite_facts
from service.records.tables import Studio
from service.records.tables.studio import LENGTH_UNITS
from service.studio.studio_settings import StudioFacts, change_studio
from service.web import manner
from service.web.as_seen import held, is_as_seen, marked
from service.web.backups import age_shown
from service.web.deps import Desk, OwnerDesk, Writes
from service.web.forms import Form, Typed
from service.web.offered import codes, currencies, time_zones

router = APIRouter(include_in_schema=False, prefix="/settings")


@router.get("")
def show_settings(desk: OwnerDesk) -> Response:
    assert desk.studio is not None
    return _page(desk, marked(_filled(desk.studio)))


@router.post("")
def change_settings(desk: OwnerDesk, form: Typed, db: Writes) -> Response:
    assert desk.studio is not None
    name = form.text("name", called="the studio's name")
    zone = form.choice("time_zone", codes(time_zones()), called="a time zone")
    currency = form.choice("currency", codes(currencies()), called="a currency")
    length_unit = form.choice("length_unit", LENGTH_UNITS, called="a unit of length")
    count_unit = form.choice("count_unit", LENGTH_UNITS, called="how threads are counted")
    numbers = form.choice("numbers", codes(manner.offered()), called="how numbers and days are written", needed=False)
    language = form.choice("language", LANGUAGES, called="a language", needed=False) or desk.studio.language
    minutes = form.whole("usual_minutes_a_day", called="the minutes a day", least=1, most=1440)
    if form.wrong or minutes is None:
        return _page(desk, form, 422)
    if not is_as_seen(form, _filled(held(db, db.get_one(Studio, 1)))):
        db.rollback()  # the page asks the one writing connection how it is set
        return _page(desk, form, 409)
    change_studio(
        db,
        StudioFacts(name, zone, currency, length_unit, count_unit, numbers or desk.studio.numbers, language, minutes),
    )
    return desk.go("/settings")


def _page(desk: Desk, form: Form, status: int = 200) -> Response:
    database = desk.request.app.state.database
    return desk.page(
        "settings/settings.html",
        "settings",
        status=status,
        form=form,
        zones=time_zones(),
        currencies=currencies(),
        manners=manner.offered(desk.studio.language if desk.studio else KEY),
        languages=tuple(LANGUAGES.items()),
        kept_in="SQLite" if database.is_sqlite else "PostgreSQL",
        facts=sqlite_facts(database),
        backup_age=age_shown(desk.request.app.state.backups, datetime.now(UTC)),
    )


def _filled(studio: Studio) -> Form:
    return Form(
        {
            "name": studio.name,
            "time_zone": studio.time_zone,
            "currency": studio.currency,
            "length_unit": studio.length_unit,
            "count_unit": studio.count_unit,
            "numbers": studio.numbers,
            "language": studio.language,
            "usual_minutes_a_day": str(studio.usual_minutes_a_day),
        }
    )
