"""Every route of the service asked by everybody there is, on a filled studio: what each of them is answered."""

import io
import sqlite3
from collections.abc import Iterator
from contextlib import ExitStack, closing
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx2
from fastapi import FastAPI
from fastapi.routing import APIRoute, iter_route_contexts
from pypdf import PdfReader
from sqlmodel import col, select

from service.reckoning.design_text import read_design
from service.records.db import Writing
from service.records.tables import (
    Account,
    Garment,
    Photo,
    Quote,
    QuoteLine,
    Section,
    StitcherAway,
    ThreadUsed,
)
from service.studio.calendar import make_link as make_calendar
from service.studio.demo import DEMO_EMAILS
from service.studio.handovers import Offer, offer
from service.studio.sign_in import begin_session, make_token
from service.studio.ways_in import make_way_in
from service.studio.window import make_link as make_window
from service.web.window_visit import PATH as WINDOW
from tests.counting import person
from tests.serving import Live

ROWS = Path(__file__).with_name("who_may.txt")
EVERYBODY = ("nobody", "client", "other", "holder", "owner")
INSIDE = ("nobody", "other", "holder", "owner")
SAFE = ("GET", "HEAD")
MAY, NOT_ASKED = "may", "-"
REFUSALS = frozenset({401, 403, 404, 405})
PIECE = "Ivy's day gown"  # in the hands of the one stitcher, not of the other
OFFERED = "Ivy's christening gown"  # by the owner to the one; the other has no part in it
THREAD = "Lace cotton No 100"
FORMS = {
    "/designs/ready": {"key": "bib"},
    "/garments/{garment_id}/finishing": {"what": "needles"},
    "/garments/{garment_id}/thread/take-back": {"thread": THREAD},
    "/reckoner/{name}/keep": {"garment": "{garment_id}"},
}
"""What is sent where an empty form would name no record at all."""
Route = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Answer:
    """What somebody was answered at an address."""

    who: str
    method: str
    path: str
    address: str
    answer: httpx2.Response

    @property
    def cell(self) -> str:
        """As it stands in the table: the status, or that it may be done."""
        is_door = self.answer.headers.get("location", "").startswith("/login?")
        is_refused = is_door or self.answer.status_code in REFUSALS or self.method in SAFE
        return str(self.answer.status_code) if is_refused else MAY

    @property
    def words(self) -> str:
        """All that can be read in it; of a PDF its text."""
        if self.answer.headers.get("content-type") == "application/pdf":
            return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(self.answer.content)).pages)
        return self.answer.content.decode(errors="replace")


@dataclass(frozen=True, slots=True)
class Here:
    """The filled studio, ready to be asked: what stands for each name in a path, and the secret of a window."""

    instead: dict[str, str]
    window: str

    def address_of(self, path: str) -> str:
        """A path with records in it; whatever is not said is the first of its kind."""
        for name, value in self.instead.items():
            path = path.replace(name, value)
        return "/".join("1" if part.startswith("{") else part for part in path.split("/"))


def written_rows() -> dict[Route, tuple[str, ...]]:
    """The table as it is written: a route, and a cell for each of EVERYBODY."""
    lines = [line.split() for line in ROWS.read_text(encoding="ascii").splitlines()]
    return {(line[0], line[1]): tuple(line[2:]) for line in lines if line and not line[0].startswith("#")}


def row_of(route: Route, cells: tuple[str, ...]) -> str:
    """A row as the table holds it."""
    return f"{route[0]:4} {route[1]:60} " + " ".join(f"{cell:>6}" for cell in cells)


def routes_of(app: FastAPI) -> list[Route]:
    """Every method and path that the service answers, those that only read first."""
    found = []
    for context in iter_route_contexts(app.routes):
        path = str(getattr(context, "path", getattr(context.route, "path", "")))
        methods = context.route.methods if isinstance(context.route, APIRoute) else {"GET"}
        found += [(method, path) for method in methods or ()]
    return sorted(found, key=lambda route: (route[0] not in SAFE, route[1], route[0]))


def make_ready(db: Writing) -> Here:
    """Give the one stitcher something of every kind that can be somebody's, and the client a window."""
    now = datetime.now(UTC)
    owner, holder = (person(db, DEMO_EMAILS[name]) for name in ("edda", "tilly"))
    piece = db.exec(select(Garment).where(Garment.name == PIECE)).one()
    number, window = piece.id or 0, make_window(db, owner, piece.commission_id, ("Her mother", 30), now)
    db.add(ThreadUsed(garment_id=number, thread=THREAD, reckoned_um=9, used_um=9, account_id=owner.id, at=now))
    for photo in db.exec(select(Photo).where(Photo.garment_id == number, col(Photo.for_client))):
        photo.account_id = holder.id
    return Here(
        {**_of_hers(db, now), **_of_the_piece(db, piece), "/window/in/{secret}": f"/window/in/{window}"}, window
    )


def _of_hers(db: Writing, now: datetime) -> dict[str, str]:
    """What is the one stitcher's own: a handover to her, a session, a token, a calendar, days away, a way in."""
    owner, holder = (person(db, DEMO_EMAILS[name]) for name in ("edda", "tilly"))
    given = db.exec(select(Garment.id).where(Garment.name == OFFERED)).one() or 0
    offered = offer(db, owner, Offer(given, holder.stitcher_id, needles_out=1, notes="For the binding."), now)
    begin_session(db, holder.id, now)
    make_token(db, holder.email, now)
    away = db.exec(select(StitcherAway.id).where(StitcherAway.stitcher_id == holder.stitcher_id)).first()
    return {
        "/come-in/{secret}": f"/come-in/{make_way_in(db, holder.id, owner.id, 'reset', now)}",
        "/calendar/{secret}": f"/calendar/{make_calendar(db, holder.id, now, with_clients=False)}",
        "{handover_id}": str(offered.id),
        "{account_id}": str(db.exec(select(Account.id).where(Account.email == holder.email)).one()),
        "{stitcher_id}": str(holder.stitcher_id),
        "{away_id}": str(away),
        "{day}": str(now.date() + timedelta(days=2)),
    }


def _of_the_piece(db: Writing, piece: Garment) -> dict[str, str]:
    """The piece in her hands with all that is of it, and a quote's draft."""
    draft = db.exec(select(Quote.id).where(Quote.state == "draft")).first() or 0
    db.add(
        line := QuoteLine(quote_id=draft, position=90, key="posting", kind="other", words="Posting", amount_minor=900)
    )
    line.by_hand = True
    db.flush()
    accepted = db.exec(select(Quote.id).where(Quote.commission_id == piece.commission_id)).first()
    design = read_design(piece.document)
    section = db.exec(select(Section.id).where(Section.garment_id == piece.id, Section.kind == "ladder")).first()
    photos = select(Photo.id).where(Photo.garment_id == piece.id, col(Photo.for_client))
    return {
        "/window/quotes/{quote_id}": f"/window/quotes/{accepted}",
        "/settings/messages/{kind}": "/settings/messages/ready",
        "/static/{name}": "/static/stopline.css",
        "/reckoner/{name}/keep": "/reckoner/tucks/keep",
        "/panels/{key}": f"/panels/{design.panels[0].key}",
        "/sections/{key}": f"/sections/{design.every_section[0].key}",
        "{size}": "small",
        "{garment_id}": str(piece.id),
        "{commission_id}": str(piece.commission_id),
        "{design_id}": str(piece.design_id),
        "{step_id}": str(piece.next_step_id),
        "{section_id}": str(section),
        "{photo_id}": str(db.exec(photos).first()),
        "{quote_id}": str(draft),
        "{line_id}": str(line.id),
    }


def ask_everybody(live: Live, here: Here, routes: list[Route]) -> Iterator[Answer]:
    """Ask every route as everybody; the client with her window's cookie where a browser would send it.

    Whatever is written with success is undone at once, so that everybody asks the same studio.
    """
    with ExitStack() as held:
        asking = {who: held.enter_context(closing(live.visitor())) for who in ("nobody", "client")}
        for who, name in (("other", "oriel"), ("holder", "tilly"), ("owner", "edda")):
            asking[who] = held.enter_context(closing(live.signed_in(DEMO_EMAILS[name])))
        asking["client"].post(f"/window/in/{here.window}")
        before = held.enter_context(closing(copied(live)))
        for method, path in routes:
            address = here.address_of(path)
            for who in EVERYBODY if f"{path}/".startswith(f"{WINDOW}/") else INSIDE:
                kept = dict(asking[who].cookies)
                answer = _ask(asking[who], method, address, FORMS.get(path, {}), here)
                asking[who].cookies = httpx2.Cookies(kept)
                yield Answer(who, method, path, address, answer)
                if method not in SAFE and answer.status_code < httpx2.codes.BAD_REQUEST:
                    put_back(live, before)


def _ask(client: httpx2.Client, method: str, address: str, form: dict[str, str], here: Here) -> httpx2.Response:
    if method in SAFE:
        return client.request(method, address)
    if address.startswith("/api/"):
        return client.request(method, address, json={})
    if form:
        return client.request(method, address, data={name: here.address_of(value) for name, value in form.items()})
    return client.request(method, address, headers={"Content-Type": "application/x-www-form-urlencoded"}, content=b"")


def copied(live: Live) -> sqlite3.Connection:
    """The whole studio in memory."""
    copy = sqlite3.connect(":memory:")
    with closing(_file(live)) as file:
        file.backup(copy)
    return copy


def put_back(live: Live, copy: sqlite3.Connection) -> None:
    """Let the studio be as it was when it was copied."""
    with closing(_file(live)) as file:
        copy.backup(file)


def _file(live: Live) -> sqlite3.Connection:
    return sqlite3.connect(str(live.database.writer.url.database), timeout=30)
