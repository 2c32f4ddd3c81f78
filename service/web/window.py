"""The client's window: how far her piece is, what is wanted of her, the quote to accept, what is owed, care notes."""

from datetime import date
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from sqlmodel import col, select

from service.errors import NotFound, Refusal
from service.languages.spoken import said
from service.papers.paper import SIZES, Paper, Part
from service.records.db import Reading, Writing
from service.records.queries.drawn import drawn_rows
from service.records.queries.papers import garments_in_file
from service.records.tables import Commission, Garment, Photo, Quote
from service.studio.money_owed import owed_for
from service.studio.pictures import SIZES as PICTURE_SIZES
from service.studio.pictures import name_of
from service.studio.promising import Yes, accept, state_on
from service.studio.quotes import agreed_day, quote_with
from service.studio.window import Let, answer_wish, let_in, wishes_of
from service.web.deps import AnyDesk, Desk, Id, Now, Reads, Writes
from service.web.drawn import plain_drawing
from service.web.forms import Form, Typed
from service.web.money_words import money
from service.web.paper_pages import print_paper
from service.web.papers import care_card
from service.web.payments import due_told, when
from service.web.photos import PICTURE_POLICY, Store
from service.web.quote_paper import quote_paper
from service.web.quoting import shown_quote
from service.web.window_visit import Visitor, going_in, refuse_many_tries, unseen, window_page
from service.web.window_week import weeks_for_client
from service.web.words import day, day_at_home

router = APIRouter(include_in_schema=False, prefix="/window")
SEEN_BY_CLIENT = ("sent", "accepted", "lapsed")


@router.get("/in/{secret}")
def show_door(desk: AnyDesk, secret: str) -> Response:
    refuse_many_tries(desk.request)
    page = window_page(desk, "window/door.html", secret=secret[:100])
    return unseen(page, secret_address=True)


@router.post("/in/{secret}")
def go_in(request: Request, db: Writes, at: Now, secret: str) -> Response:
    refuse_many_tries(request)
    return going_in(request, let_in(db, secret[:100], at))


@router.get("")
def show_window(desk: AnyDesk, let: Visitor, db: Reads) -> Response:
    return _page(desk, let, db, Form())


@router.get("/quotes/{quote_id}")
def show_quote(desk: AnyDesk, let: Visitor, db: Reads, quote_id: Id) -> Response:
    return _quote_page(desk, let, db, quote_id, Form())


@router.post("/quotes/{quote_id}/accept")
def accept_quote(desk: AnyDesk, let: Visitor, form: Typed, db: Writes, at: Now, quote_id: Id) -> Response:
    _own_quote(db, let, quote_id, desk.today)
    name = form.text("name", called="your name")
    version = form.whole("version", called="the version", most=1_000_000)
    total = form.whole("total", called="the total", most=10**15)
    if not form.ticked("read"):
        form.fault("read", "Say that you have read the quote.")
    if not form.wrong and version is not None and total is not None:
        try:
            accept(db, quote_id, Yes(version, total, name), at)
        except Refusal as refused:
            form.fault("", refused.sentence)
            return _quote_page(desk, let, db, quote_id, form, refused.status)
    if form.wrong:
        return _quote_page(desk, let, db, quote_id, form, 422)
    return unseen(RedirectResponse(f"/window/quotes/{quote_id}", 303))


@router.get("/quotes/{quote_id}/quote.pdf")
def print_quote(desk: AnyDesk, let: Visitor, db: Reads, quote_id: Id, paper: str = SIZES[0]) -> Response:
    assert desk.studio
    _own_quote(db, let, quote_id, desk.today)
    return unseen(
        print_paper(quote_paper(shown_quote(db, quote_id, desk.today), desk.studio), paper, f"quote-{quote_id}")
    )


@router.get("/quotes/{quote_id}/receipt.pdf")
def print_acceptance(desk: AnyDesk, let: Visitor, db: Reads, quote_id: Id, paper: str = SIZES[0]) -> Response:
    quote = _own_quote(db, let, quote_id, desk.today)
    if quote.accepted_at is None or quote.state != "accepted":
        raise NotFound("This quote is not accepted, so there is no receipt of it.")
    return unseen(print_paper(_receipt(desk, db, quote), paper, f"accepted-{quote_id}"))


@router.get("/garments/{garment_id}/care.pdf")
def print_care(desk: AnyDesk, let: Visitor, db: Reads, garment_id: Id, paper: str = SIZES[0]) -> Response:
    garment = db.get(Garment, garment_id)
    if garment is None or garment.commission_id != let.commission_id or garment.state != "delivered":
        raise NotFound("There are no care notes of that here.")
    return unseen(print_paper(care_card(desk, db, garment, None), paper, f"care-{garment_id}"))


@router.get("/photos/{photo_id}/{size}")
def show_picture(let: Visitor, db: Reads, store: Store, photo_id: Id, size: str) -> Response:
    photo = db.get(Photo, photo_id)
    seen = photo is not None and photo.for_client and photo.taken_out_at is None and size in PICTURE_SIZES
    if photo is None or not seen or db.get_one(Garment, photo.garment_id).commission_id != let.commission_id:
        raise NotFound("There is no such photo here.")
    headers = {"Content-Security-Policy": PICTURE_POLICY, "Content-Disposition": "inline"}
    return unseen(Response(store.read(name_of(photo.sha256, size)), media_type=photo.mime, headers=headers))


@router.post("/wishes/{wish_id}")
def answer(desk: AnyDesk, let: Visitor, form: Typed, db: Writes, at: Now, wish_id: Id) -> Response:
    words = form.text("answer", called="your answer", most=2000)
    if not form.wrong:
        try:
            answer_wish(db, let, wish_id, words, at)
        except Refusal as refused:
            form.fault("answer", refused.sentence)
    if form.wrong:
        form.errors = {f"answer-{wish_id}": sentence for sentence in form.errors.values()}
        form.values[f"answer-{wish_id}"] = words
        return _page(desk, let, db, form, 422)
    return unseen(RedirectResponse("/window#wanted", 303))


def _page(desk: Desk, let: Let, db: Reading | Writing, form: Form, status: int = 200) -> Response:
    commission = db.get_one(Commission, let.commission_id)
    garments = garments_in_file(db, let.commission_id)
    rows = drawn_rows(db, [garment.id or 0 for garment in garments])
    owed = owed_for(db, let.commission_id)
    quotes = select(Quote).where(Quote.commission_id == let.commission_id, col(Quote.state).in_(SEEN_BY_CLIENT))
    return window_page(
        desk,
        "window/window.html",
        status=status,
        form=form,
        commission=commission,
        pieces=[(garment, plain_drawing(rows[garment.id or 0], garment.name)) for garment in garments],
        wanted_on=agreed_day(db, let.commission_id) or commission.wanted_on,
        expected={one.garment.id: one.read for one in weeks_for_client(desk, db, commission, garments)},
        photos=_photos(db, [garment.id or 0 for garment in garments]),
        wishes=wishes_of(db, let.commission_id, open_only=True),
        quotes=[(quote, state_on(quote, desk.today)) for quote in db.exec(quotes.order_by(col(Quote.id).desc()))],
        owed=owed,
        owed_told=due_told(owed, desk.today),
        dues=[(due, said(when(due))) for due in owed.dues],
    )


def _photos(db: Reading | Writing, garment_ids: list[int]) -> list[Photo]:
    found = select(Photo).where(
        col(Photo.garment_id).in_(garment_ids), col(Photo.for_client).is_(True), col(Photo.taken_out_at).is_(None)
    )
    return list(db.exec(found.order_by(col(Photo.id).desc()).limit(60)))


def _own_quote(db: Reading | Writing, let: Let, quote_id: int, today: date) -> Quote:
    quote = quote_with(db, quote_id)
    if quote.commission_id != let.commission_id or state_on(quote, today) not in SEEN_BY_CLIENT:
        raise NotFound("There is no such quote here. If it was taken back, the studio will send you the next one.")
    return quote


def _quote_page(desk: Desk, let: Let, db: Reading | Writing, quote_id: int, form: Form, status: int = 200) -> Response:
    assert desk.studio
    quote = _own_quote(db, let, quote_id, desk.today)
    shown: dict[str, Any] = {
        "paper": quote_paper(shown_quote(db, quote_id, desk.today), desk.studio, with_yes=False),
        "quote": quote,
        "state": state_on(quote, desk.today),
    }
    return window_page(desk, "window/quote.html", status=status, form=form, **shown)


def _receipt(desk: Desk, db: Reading | Writing, quote: Quote) -> Paper:
    assert desk.studio
    assert quote.accepted_at
    shown = shown_quote(db, quote.id or 0, desk.today)
    return Paper(
        title=f"Accepted: {shown.title}",
        studio=quote.studio_name or desk.studio.name,
        told=f"{quote.kind.capitalize()}, version {quote.version}, was accepted.",
        parts=(
            Part(
                facts=(
                    ("Accepted by", quote.accepted_name),
                    ("On", day_at_home(quote.accepted_at, desk.studio.time_zone)),
                    ("In all", money(quote.total_minor, quote.currency)),
                    ("Wanted on", day(shown.wanted_on)),
                )
            ),
        ),
        foot="Local tax and consumer rules apply, the right to withdraw among them.",
    )
