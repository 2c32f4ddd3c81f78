"""The days in somebody's own calendar: a secret address that she can end, and what is read there."""

from dataclasses import replace

from fastapi import APIRouter
from fastapi.responses import Response

from service.errors import NotFound
from service.languages.spoken import said
from service.records.db import Reading
from service.studio.calendar import calendar_text, end_link, links_of, make_link, noted_days, reader_by
from service.web.deps import AnyDesk, Desk, Id, Now, Reads, SignedIn, SignedInDesk, Writes, whole_address
from service.web.foreseeing import foresight_of
from service.web.forms import Typed
from service.web.shown_once import lead_to, shown_here

router = APIRouter(include_in_schema=False)
LONGEST_SECRET = 100
HIDDEN = {"Cache-Control": "no-store", "Referrer-Policy": "no-referrer", "X-Robots-Tag": "noindex"}


@router.get("/diary/calendar")
def show_links(desk: SignedInDesk, person: SignedIn, db: Reads) -> Response:
    return _page(desk, db, person.id)


@router.post("/diary/calendar")
def make_calendar_link(desk: SignedInDesk, person: SignedIn, form: Typed, db: Writes, at: Now) -> Response:
    secret = make_link(db, person.id, at, with_clients=person.is_owner and form.ticked("with_clients"))
    return lead_to(desk, "/diary/calendar/made", secret)


@router.get("/diary/calendar/made")
def show_address(desk: SignedInDesk, person: SignedIn, db: Reads) -> Response:
    secret = shown_here(desk)
    try:
        reader_by(db, secret)
    except NotFound:
        return desk.go("/diary/calendar")
    return _page(desk, db, person.id, whole_address(desk.request, f"calendar/{secret}.ics"))


@router.post("/diary/calendar/{link_id}/end")
def end_calendar_link(desk: SignedInDesk, person: SignedIn, db: Writes, at: Now, link_id: Id) -> Response:
    end_link(db, person.id, link_id, at)
    return desk.go("/diary/calendar")


@router.get("/calendar/{secret}.ics")
def read_calendar(desk: AnyDesk, db: Reads, at: Now, secret: str) -> Response:
    try:
        reader = reader_by(db, secret[:LONGEST_SECRET])
    except NotFound as refused:
        return Response(refused.sentence, 404, HIDDEN, "text/plain; charset=utf-8")
    plan = foresight_of(desk.request).newest(db, desk.today)
    name = desk.studio.name if desk.studio else "Stopline"
    days = [replace(noted, title=said(noted.title), words=said(noted.words)) for noted in noted_days(db, reader, plan)]
    text = calendar_text(name, days, at)
    return Response(text, headers=HIDDEN, media_type="text/calendar; charset=utf-8")


def _page(desk: Desk, db: Reading, account_id: int, address: str = "") -> Response:
    return desk.page("diary/calendar.html", "diary", links=links_of(db, account_id), address=address)
