"""The client's window: who is let in by which link, for how long, and what is wanted of the client."""

import hashlib
import secrets
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlmodel import col, select
from sqlmodel.sql.expression import SelectOfScalar

from service.errors import Conflict, NotFound, Unreadable
from service.records.db import Reading, Writing
from service.records.tables import ClientWish, Commission, Event, ShareLink, WindowVisit
from service.records.tables.window import WANTED_KINDS
from service.studio.commissions import commission_with
from service.studio.quotes import agreed_day
from service.studio.sign_in import Person

MOST_DAYS = 365
VISIT_LASTS = timedelta(hours=12)
MOST_LINKS = 50
MOST_WRITTEN = 4000
ENDED = "This link does not open anything any more. Ask the studio for a new one."


@dataclass(frozen=True, slots=True)
class Let:
    """Somebody let in: the commission that the window shows, and the link she came by."""

    commission_id: int
    client_id: int
    link_id: int


def make_link(db: Writing, owner: Person, commission_id: int, told: tuple[str, int], at: datetime) -> str:
    """Make a link to a commission's window for so many days; its secret is given once and kept as a digest."""
    commission_with(db, commission_id)
    label, days = told
    if not 1 <= days <= MOST_DAYS:
        raise Unreadable({"days": f"Let it end after 1 to {MOST_DAYS} days."})
    if len(links_of(db, commission_id)) >= MOST_LINKS:
        raise Conflict(f"There are {MOST_LINKS} links already. Write to the client with one of them.")
    secret = secrets.token_urlsafe(32)
    link = ShareLink(
        commission_id=commission_id,
        label=label,
        secret_sha256=_digest(secret),
        account_id=owner.id,
        created_at=at,
        ends_at=at + timedelta(days=days),
    )
    db.add(link)
    _keep(db, owner.id, commission_id, "window link made", label, at)
    return secret


def revoke_link(db: Writing, owner: Person, link_id: int, at: datetime) -> int:
    """Let a link open nothing from now on, nor anybody who came by it; gives its commission."""
    link = db.get(ShareLink, link_id)
    if link is None:
        raise NotFound("There is no such link.")
    if link.revoked_at is None:
        link.revoked_at = at
        db.add(link)
        _keep(db, owner.id, link.commission_id, "window link ended", link.label, at)
    return link.commission_id


def let_in(db: Writing, secret: str, at: datetime) -> str:
    """Let a browser in by a link's secret; gives the secret of its visit."""
    found = _good_link(secret, at).with_for_update()
    link = db.exec(found.execution_options(populate_existing=True)).first()
    if link is None or link.id is None:
        raise NotFound(ENDED)
    visit = secrets.token_urlsafe(32)
    ends_at = min(at + VISIT_LASTS, link.ends_at)
    db.add(WindowVisit(share_link_id=link.id, secret_sha256=_digest(visit), created_at=at, ends_at=ends_at))
    link.first_opened_at, link.last_opened_at = link.first_opened_at or at, at
    link.times_opened += 1
    db.add(link)
    if link.times_opened == 1:
        _keep(db, None, link.commission_id, "window first opened", link.label, at)
    return visit


def is_good(db: Reading, secret: str, at: datetime) -> bool:
    """Whether a link's secret still lets somebody in."""
    return db.exec(_good_link(secret, at)).first() is not None


def let_by(db: Reading | Writing, visit: str, at: datetime) -> Let:
    """Whom a visit's secret lets in, refused once its link is revoked or over."""
    found = (
        select(Commission.id, Commission.client_id, ShareLink.id)
        .join(ShareLink, col(ShareLink.commission_id) == Commission.id)
        .join(WindowVisit, col(WindowVisit.share_link_id) == ShareLink.id)
        .where(WindowVisit.secret_sha256 == _digest(visit), WindowVisit.ends_at > at)
        .where(col(ShareLink.revoked_at).is_(None), ShareLink.ends_at > at)
    )
    row = db.exec(found).first()
    if not visit or row is None:
        raise NotFound(ENDED)
    commission_id, client_id, link_id = row
    assert commission_id is not None
    assert link_id is not None
    return Let(commission_id, client_id, link_id)


def links_of(db: Reading | Writing, commission_id: int) -> list[ShareLink]:
    """The links of a commission, the newest first."""
    found = select(ShareLink).where(ShareLink.commission_id == commission_id).order_by(col(ShareLink.id).desc())
    return list(db.exec(found))


def want(db: Writing, owner: Person, commission_id: int, told: tuple[str, str], at: datetime) -> None:
    """Write down what is wanted of the client; her window shows it."""
    commission_with(db, commission_id)
    kind, words = told
    if kind not in WANTED_KINDS:
        raise Unreadable({"kind": f"Choose one of {', '.join(WANTED_KINDS)}."})
    db.add(ClientWish(commission_id=commission_id, kind=kind, words=words, account_id=owner.id, asked_at=at))
    db.flush()


def answer_wish(db: Writing, let: Let, wish_id: int, answer: str, at: datetime) -> None:
    """Keep the client's answer; a later one, while the wish is open, is added to it."""
    wish = _wish(db, wish_id)
    if wish.commission_id != let.commission_id:
        raise NotFound("That was not asked here.")
    if wish.closed_at is not None:
        raise Conflict("The studio has closed this question. Write to the studio if something has changed.")
    if len(wish.answer) + len(answer) > MOST_WRITTEN:
        raise Unreadable({"answer": "That is more than fits. Write to the studio instead."})
    wish.answer = f"{wish.answer}\n{answer}".strip()
    wish.answered_at = at
    db.add(wish)
    _keep(db, None, let.commission_id, "client answered", wish.words, at)


def close_wish(db: Writing, wish_id: int, at: datetime) -> int:
    """Take what was wanted off the window; gives its commission."""
    wish = _wish(db, wish_id)
    wish.closed_at = wish.closed_at or at
    db.add(wish)
    return wish.commission_id


def wishes_of(db: Reading | Writing, commission_id: int, *, open_only: bool = False) -> list[ClientWish]:
    """What is wanted of a client, the oldest first."""
    found = select(ClientWish).where(ClientWish.commission_id == commission_id).order_by(col(ClientWish.id))
    return list(db.exec(found.where(col(ClientWish.closed_at).is_(None)) if open_only else found))


def may_read_week(db: Reading | Writing, commission: Commission, ready_on: date) -> bool:
    """Whether the client may read of the week of that day: one the owner let her, or one that keeps the agreed day."""
    if commission.week_held:
        return False
    let_to = [one for one in (agreed_day(db, commission.id or 0), commission.week_let_to) if one is not None]
    return bool(let_to) and ready_on <= max(let_to)


def let_week(db: Writing, commission_id: int, until: date | None) -> None:
    """Let the client read of the weeks up to that day; without one, hold them back until she may."""
    commission = commission_with(db, commission_id)
    commission.week_held = until is None
    commission.week_let_to = until or commission.week_let_to
    db.add(commission)


def _good_link(secret: str, at: datetime) -> SelectOfScalar[ShareLink]:
    return select(ShareLink).where(
        ShareLink.secret_sha256 == _digest(secret), col(ShareLink.revoked_at).is_(None), ShareLink.ends_at > at
    )


def _wish(db: Writing, wish_id: int) -> ClientWish:
    wish = db.exec(
        select(ClientWish).where(ClientWish.id == wish_id).with_for_update().execution_options(populate_existing=True)
    ).first()
    if wish is None:
        raise NotFound("That was not asked here.")
    return wish


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


def _keep(db: Writing, account_id: int | None, commission_id: int, action: str, reason: str, at: datetime) -> None:
    event = Event(at=at, account_id=account_id, action=action, object_kind="commission", object_id=commission_id)
    event.reason = reason
    db.add(event)
    db.flush()
