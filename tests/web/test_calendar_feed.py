"""The days in somebody's own calendar: parsed back, hers alone, without clients unless asked, gone once ended."""

import re
from contextlib import closing
from datetime import UTC, datetime, timedelta
from typing import Any

import httpx2
from icalendar import Calendar
from sqlmodel import select

from service.records.db import Writing
from service.records.tables import Account, CalendarLink, Panel
from service.studio.foresight import Foresight
from service.studio.rates import Learning
from service.studio.sign_in import sha256
from service.studio.stitchers import change_hours
from tests.building import a_garment
from tests.counting import number, stitcher_id
from tests.serving import SECOND, STITCHER, Live


def a_piece(db: Writing, name: str, by: str) -> int:
    garment = a_garment(db, "bib")
    garment.name = name
    change_hours(db, stitcher_id(db, by), (60,) * 7)
    for panel in db.exec(select(Panel).where(Panel.garment_id == garment.id)):
        panel.holder_id = stitcher_id(db, by)
        db.add(panel)
    return number(garment)


def address(client: httpx2.Client, **said: str) -> str:
    """Make an address and read it off the page."""
    page = client.post("/diary/calendar", data=said, follow_redirects=True)
    assert (page.status_code, page.headers["cache-control"]) == (200, "no-store")
    (found,) = re.findall(r'value="http://[^/]+(/calendar/[^"]+\.ics)"', page.text)
    assert found not in client.get("/diary/calendar").text
    return str(found)


def events(text: bytes) -> list[Any]:
    """The days that stand in a calendar."""
    calendar: Any = Calendar.from_ical(text)
    return list(calendar.walk("VEVENT"))


def titles(live: Live, path: str) -> list[str]:
    """What a calendar without any cookie reads there."""
    with closing(live.visitor()) as calendar:
        answer = calendar.get(path)
    assert (answer.status_code, answer.headers["content-type"]) == (200, "text/calendar; charset=utf-8")
    assert answer.headers["cache-control"] == "no-store"
    return [str(event["SUMMARY"]) for event in events(answer.content)]


def test_a_calendar_reads_the_wanted_and_the_likely_day_of_every_piece(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        bib = a_piece(db, "Ivy's bib; white, fine", STITCHER)
    path = address(owner)
    with closing(live.visitor()) as calendar:
        noted = events(calendar.get(path).content)
    with live.database.reading() as db:
        days = Foresight(Learning()).exact(db, datetime.now(UTC).date()).days_of(bib)
    assert days.likely is not None
    wanted, likely = noted
    assert [str(event["SUMMARY"]) for event in noted] == [
        "Wanted: Ivy's bib; white, fine",
        "Likely done: Ivy's bib; white, fine",
    ]
    assert wanted["DTSTART"].dt.isoformat() == "2027-05-16"
    assert likely["DTSTART"].dt == days.likely
    assert likely["DTEND"].dt == days.likely + timedelta(days=1)
    assert len({str(event["UID"]) for event in noted}) == 2
    with closing(live.visitor()) as calendar:
        again = events(calendar.get(path).content)
    assert [str(event["UID"]) for event in again] == [str(event["UID"]) for event in noted]


def test_clients_stand_in_it_only_when_the_owner_ticked_it(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        a_piece(db, "Ivy bib", STITCHER)
    plain, told = address(owner), address(owner, with_clients="yes")
    assert titles(live, plain)[0] == "Wanted: Ivy bib"
    assert titles(live, told)[0] == "Wanted: Ivy bib, Christening of Ivy (Hester Vane)"


def test_a_stitchers_calendar_shows_what_is_in_her_hands_and_never_a_client(
    stitcher: httpx2.Client, live: Live
) -> None:
    with live.database.writing() as db:
        a_piece(db, "Ivy bib", STITCHER)
        a_piece(db, "Moss bib", SECOND)
    assert titles(live, address(stitcher, with_clients="yes")) == ["Wanted: Ivy bib", "Likely done: Ivy bib"]


def test_an_address_that_was_ended_or_of_nobody_opens_nothing(owner: httpx2.Client, live: Live) -> None:
    path = address(owner)
    assert titles(live, path) == []
    with live.database.reading() as db:
        (link,) = db.exec(select(CalendarLink)).all()
    assert link.secret_sha256 == sha256(path.removeprefix("/calendar/").removesuffix(".ics"))
    assert owner.post(f"/diary/calendar/{link.id}/end").status_code == 303
    with closing(live.visitor()) as calendar:
        for gone in (path, "/calendar/guessed.ics", f"/calendar/{link.secret_sha256}.ics", "/calendar/%00.ics"):
            answer = calendar.get(gone)
            assert (answer.status_code, answer.headers["cache-control"]) == (404, "no-store")


def test_nobody_ends_anothers_address_and_one_who_may_not_sign_in_reads_nothing(
    owner: httpx2.Client, stitcher: httpx2.Client, live: Live
) -> None:
    path = address(stitcher)
    with live.database.reading() as db:
        (link,) = db.exec(select(CalendarLink)).all()
    assert owner.post(f"/diary/calendar/{link.id}/end").status_code == 404
    with live.database.writing() as db:
        db.get_one(Account, link.account_id).active = False
    with closing(live.visitor()) as calendar:
        assert calendar.get(path).status_code == 404
