"""The owner's side of a client's window: links made and ended, what is wanted, drafted messages in her own words."""

from urllib.parse import quote as in_address

from fastapi import APIRouter
from fastapi.responses import Response

from service.errors import Refusal
from service.languages.spoken import said
from service.reckoning.findings import Finding
from service.records.db import Reading, Writing
from service.records.queries.papers import garments_in_file
from service.records.tables.window import MESSAGE_KINDS, WANTED_KINDS
from service.studio import messages, window
from service.studio.clients import client_with
from service.studio.commissions import commission_with
from service.studio.money_owed import owed_for
from service.web.deps import Desk, Id, Now, Owner, OwnerDesk, Reads, Writes, whole_address
from service.web.forms import Form, Typed
from service.web.money_words import money
from service.web.shown_once import lead_to, shown_here
from service.web.window_visit import is_seen_from_here_only
from service.web.window_week import weeks_for_client
from service.web.words import day

router = APIRouter(include_in_schema=False)
USUAL_DAYS = 60
NEAR_ONLY = Finding(
    "near_only",
    "This link opens on this computer or in this house only, on no client’s phone. Open the book by the address that "
    "others reach it at, then draft the message again.",
)
KIND_WORDS = {
    "quote": "the quote is ready",
    "progress": "how it stands",
    "measurement": "a measurement, please",
    "fitting": "a fitting",
    "instalment": "a part of the price is due",
    "ready": "it is ready",
}


@router.get("/commissions/{commission_id}/window")
def show_window_of(desk: OwnerDesk, db: Reads, commission_id: Id) -> Response:
    return _page(desk, db, commission_id, Form())


@router.post("/commissions/{commission_id}/window/links")
def make_link(desk: OwnerDesk, owner: Owner, form: Typed, db: Writes, at: Now, commission_id: Id) -> Response:
    label = form.text("label", called="whom it is for")
    days = form.whole("days", called="for how many days", least=1, most=window.MOST_DAYS)
    kind = form.choice("kind", MESSAGE_KINDS, called="what it is about")
    if form.wrong or days is None:
        return _page(desk, db, commission_id, form, 422)
    secret = window.make_link(db, owner, commission_id, (label, days), at)
    return lead_to(desk, f"/commissions/{commission_id}/window/drafted?kind={kind}", secret)


@router.get("/commissions/{commission_id}/window/drafted")
def show_drafted(desk: OwnerDesk, db: Reads, at: Now, commission_id: Id, kind: str = "") -> Response:
    secret = shown_here(desk)
    if kind not in MESSAGE_KINDS or not window.is_good(db, secret, at):
        return desk.go(f"/commissions/{commission_id}/window")
    return _drafted(desk, db, commission_id, kind, whole_address(desk.request, f"window/in/{secret}"))


@router.post("/window-links/{link_id}/revoke")
def revoke(desk: OwnerDesk, owner: Owner, db: Writes, at: Now, link_id: Id) -> Response:
    return desk.go(f"/commissions/{window.revoke_link(db, owner, link_id, at)}/window")


@router.post("/commissions/{commission_id}/window/wishes")
def want(desk: OwnerDesk, owner: Owner, form: Typed, db: Writes, at: Now, commission_id: Id) -> Response:
    kind = form.choice("wanted", WANTED_KINDS, called="what is wanted")
    words = form.text("words", called="what is asked", most=1000)
    if form.wrong:
        return _page(desk, db, commission_id, form, 422)
    window.want(db, owner, commission_id, (kind, words), at)
    return desk.go(f"/commissions/{commission_id}/window#wanted")


@router.post("/commissions/{commission_id}/window/week")
def let_week(desk: OwnerDesk, form: Typed, db: Writes, commission_id: Id) -> Response:
    until = form.day("until", called="the week", needed=False)
    if form.wrong:
        return _page(desk, db, commission_id, form, 422)
    window.let_week(db, commission_id, until)
    return desk.go(f"/commissions/{commission_id}/window#week")


@router.post("/window-wishes/{wish_id}/close")
def close(desk: OwnerDesk, db: Writes, at: Now, wish_id: Id) -> Response:
    return desk.go(f"/commissions/{window.close_wish(db, wish_id, at)}/window#wanted")


@router.get("/settings/messages")
def show_messages(desk: OwnerDesk, db: Reads) -> Response:
    return _words_page(desk, db, Form())


@router.post("/settings/messages/{kind}")
def change_words(desk: OwnerDesk, form: Typed, db: Writes, kind: str) -> Response:
    subject = form.text("subject", called="the subject")
    body = form.text("body", called="the message", most=5000)
    if not form.wrong:
        try:
            messages.change_words(db, kind, messages.Words(subject, body))
        except Refusal as refused:
            form.errors = dict(getattr(refused, "faults", {"": refused.sentence}))
    if form.wrong:
        form.values["kind"] = kind
        return _words_page(desk, db, form, 422)
    return desk.go("/settings/messages")


def _page(desk: Desk, db: Reading | Writing, commission_id: int, form: Form, status: int = 200) -> Response:
    commission = commission_with(db, commission_id)
    weeks = weeks_for_client(desk, db, commission, garments_in_file(db, commission_id))
    form.values.setdefault("days", str(USUAL_DAYS))
    form.values.setdefault("label", client_with(db, commission.client_id).name)
    return desk.page(
        "window/for_owner.html",
        "commissions",
        status=status,
        form=form,
        commission=commission,
        weeks=weeks,
        held_until=max((one.until for one in weeks if one.held and one.until), default=None),
        is_week_told=any(one.until and not one.held for one in weeks),
        links=window.links_of(db, commission_id),
        wishes=window.wishes_of(db, commission_id),
        kinds=list(KIND_WORDS.items()),
        wanted=[(kind, f"a {kind}" if kind != "answer" else "an answer") for kind in WANTED_KINDS],
    )


def _drafted(desk: Desk, db: Reading, commission_id: int, kind: str, link: str) -> Response:
    """The message with the link in it: the book keeps no secret."""
    assert desk.studio
    commission = commission_with(db, commission_id)
    client = client_with(db, commission.client_id)
    owed = owed_for(db, commission_id)
    places = {
        "client": client.name,
        "commission": commission.title,
        "day": day(commission.wanted_on),
        "sum": money(max(0, owed.due_minor(desk.today) or owed.owed_minor), owed.currency),
        "link": link,
        "studio": desk.studio.name,
    }
    words = messages.filled(_words(db, kind), places)
    return desk.page(
        "window/drafted.html",
        "commissions",
        commission=commission,
        client=client,
        link=link,
        findings=[NEAR_ONLY] if is_seen_from_here_only(link) else [],
        words=words,
        mailto=_mailto(client.email, words),
    )


def _words(db: Reading | Writing, kind: str) -> messages.Words:
    """The owner's own words; those to begin with in the language of the studio."""
    words = messages.words_of(db, kind)
    return messages.Words(said(words.subject), said(words.body)) if words == messages.STARTING[kind] else words


def _mailto(email: str, words: messages.Words) -> str:
    """The message as a link for a mail program; everything is escaped, so that no line of it becomes a header."""
    to, subject, body = in_address(email, safe="@"), in_address(words.subject), in_address(words.body)
    return f"mailto:{to}?subject={subject}&body={body}"


def _words_page(desk: Desk, db: Reading | Writing, form: Form, status: int = 200) -> Response:
    own = {kind: _words(db, kind) for kind in MESSAGE_KINDS}
    return desk.page(
        "settings/messages.html",
        "settings",
        status=status,
        form=form,
        kinds=[(kind, KIND_WORDS[kind], own[kind]) for kind in MESSAGE_KINDS],
        places=messages.PLACES,
    )
