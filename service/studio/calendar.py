"""Calendars of the days: secret links that can be ended, and the text that a calendar reads by one of them."""

import secrets
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlmodel import col, select

from service.errors import Conflict, NotFound
from service.reckoning.dates import shown_percent
from service.records.db import Reading, Writing
from service.records.queries.standing import SHELF, Standing, Wanted, open_garments
from service.records.tables import Account, CalendarLink
from service.studio.diary import Foreseen
from service.studio.sign_in import sha256

MOST_LINKS = 20


@dataclass(frozen=True, slots=True)
class Reader:
    """Whose calendar it is: the owner's of everything, or a stitcher's of what is in her hands."""

    stitcher_id: int | None
    is_owner: bool
    with_clients: bool
    digest: str


@dataclass(frozen=True, slots=True)
class Noted:
    """One whole day in a calendar."""

    uid: str
    day: date
    title: str
    words: str


def make_link(db: Writing, account_id: int, at: datetime, *, with_clients: bool) -> str:
    """Make a link to somebody's calendar; its secret is given once and kept as a digest."""
    if len(links_of(db, account_id)) >= MOST_LINKS:
        raise Conflict(f"There are {MOST_LINKS} calendar addresses already. End one that is not used any more.")
    secret = secrets.token_urlsafe(32)
    db.add(CalendarLink(account_id=account_id, secret_sha256=sha256(secret), with_clients=with_clients, created_at=at))
    db.flush()
    return secret


def links_of(db: Reading | Writing, account_id: int) -> list[CalendarLink]:
    """Somebody's links that have not ended, the newest first."""
    found = select(CalendarLink).where(CalendarLink.account_id == account_id, col(CalendarLink.ended_at).is_(None))
    return list(db.exec(found.order_by(col(CalendarLink.id).desc())))


def end_link(db: Writing, account_id: int, link_id: int, at: datetime) -> None:
    """End one of somebody's own links: what reads it finds nothing any more."""
    link = db.get(CalendarLink, link_id)
    if link is None or link.account_id != account_id:
        raise NotFound("There is no such calendar address of yours.")
    link.ended_at = link.ended_at or at
    db.add(link)


def reader_by(db: Reading, secret: str) -> Reader:
    """Whose calendar a secret opens; refused once the link ended or its account may not sign in.

    Looked up by its digest, so that how long it takes says nothing of how near a guess was.
    """
    digest = sha256(secret)
    found = db.exec(
        select(CalendarLink, Account)
        .join(Account, col(CalendarLink.account_id) == Account.id)
        .where(
            CalendarLink.secret_sha256 == digest,
            col(CalendarLink.ended_at).is_(None),
            col(Account.active).is_(True),
        )
    ).first()
    if found is None:
        raise NotFound("There is no such calendar.")
    link, account = found
    is_owner = account.role == "owner"
    return Reader(account.stitcher_id, is_owner, link.with_clients and is_owner, digest)


def noted_days(db: Reading, reader: Reader, plan: Foreseen) -> list[Noted]:
    """The wanted day of every open piece that the reader may see, and the day on which it is likely done."""
    seen_by = None if reader.is_owner else (reader.stitcher_id or SHELF)
    pieces, _ = open_garments(db, Wanted(seen_by=seen_by), limit=None)
    return [noted for piece in pieces for noted in _noted(piece, reader, plan)]


def _noted(piece: Standing, reader: Reader, plan: Foreseen) -> Iterable[Noted]:
    days = plan.days_of(piece.id)
    name = f"{piece.name}, {piece.commission} ({piece.client})" if reader.with_clients else piece.name
    chance = "" if days.chance is None else f" In time with a chance of {shown_percent(days.chance)} %."
    likely = f"Likely done on {days.likely.isoformat()}.{chance}" if days.likely else days.why_not
    yield Noted(f"wanted-{piece.id}-{reader.digest[:16]}@stopline", piece.wanted_on, f"Wanted: {name}", likely)
    if days.likely is not None and piece.left_ms:
        words = f"Wanted on {piece.wanted_on.isoformat()}.{chance}"
        yield Noted(f"likely-{piece.id}-{reader.digest[:16]}@stopline", days.likely, f"Likely done: {name}", words)


def calendar_text(name: str, days: Iterable[Noted], at: datetime) -> bytes:
    """The days as a calendar reads them (RFC 5545), each a whole day that keeps nobody busy."""
    from icalendar import Calendar, Event

    calendar = Calendar()
    calendar.add("prodid", "-//Stopline//Diary//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", name)
    for noted in days:
        event = Event()
        event.add("uid", noted.uid)
        event.add("dtstamp", at)
        event.add("dtstart", noted.day)
        event.add("dtend", noted.day + timedelta(days=1))
        event.add("summary", noted.title)
        event.add("description", noted.words)
        event.add("transp", "TRANSPARENT")
        calendar.add_component(event)
    text: bytes = calendar.to_ical()
    return text
