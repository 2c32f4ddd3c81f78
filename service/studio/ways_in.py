"""Links with which somebody sets her own password: made by the owner, good once and for a short time.

No mail is sent: the owner hands the link over. Looking at it changes nothing. It opens no session and does not pass the
second step; every session of the account ends when it is used.
"""

import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import delete, update
from sqlmodel import Session, col, select

from service.errors import Conflict, NotFound
from service.records.at_once import at_once
from service.records.db import Writing
from service.records.tables import Account, KnownBrowser, WayIn
from service.studio.passwords import check_password
from service.studio.sessions import account_with, end_all, hold, keep_event
from service.studio.sign_in import names_known, sha256

LASTS = {"invite": timedelta(days=3), "reset": timedelta(hours=3)}
NOT_GOOD = "This link is not good, or not good any more. Ask the owner of the studio for a new one."


@dataclass(frozen=True, slots=True)
class Opened:
    """A link that is good: what it is for, and whose."""

    id: int
    kind: str
    account_id: int
    name: str
    email: str


def make_way_in(db: Writing, account_id: int, made_by_id: int | None, kind: str, at: datetime) -> str:
    """Make a link's secret, kept as a digest alone; the ones made before for this account open nothing any more."""
    account = hold(db, account_id)
    if not account.active:
        raise Conflict(f"{account.name} may not sign in just now. Let her sign in again first.")
    _withdraw(db, account_id, at)
    secret = secrets.token_urlsafe(32)
    db.add(
        WayIn(
            account_id=account_id,
            kind=kind,
            secret_sha256=sha256(secret),
            made_by_id=made_by_id,
            created_at=at,
            ends_at=at + LASTS[kind],
        )
    )
    keep_event(db, made_by_id, account_id, f"{kind} link made", at)
    return secret


def open_way_in(db: Session, secret: str, at: datetime) -> Opened:
    """What a link's secret opens; one refusal for all that are not good."""
    row = db.exec(
        select(WayIn, Account)
        .join(Account, col(WayIn.account_id) == Account.id)
        .where(
            WayIn.secret_sha256 == sha256(secret),
            col(WayIn.used_at).is_(None),
            col(WayIn.withdrawn_at).is_(None),
            col(WayIn.ends_at) > at,
            col(Account.active),
        )
    ).first()
    if row is None:
        raise NotFound(NOT_GOOD)
    way, account = row
    assert way.id is not None
    return Opened(way.id, way.kind, way.account_id, account.name, account.email)


def check_new_password(db: Session, opened: Opened, password: str) -> None:
    """Refuse a password that she may not choose."""
    check_password(password, names_known(db, opened.name, opened.email))


def use_way_in(db: Writing, opened: Opened, password_hash: str, at: datetime) -> None:
    """Set the password: once, whoever else sends the same link at the same moment."""
    used = at_once(
        db,
        update(WayIn)
        .where(col(WayIn.id) == opened.id, col(WayIn.used_at).is_(None), col(WayIn.withdrawn_at).is_(None))
        .values(used_at=at),
    )
    if used != 1:
        raise NotFound(NOT_GOOD)
    account = account_with(db, opened.account_id)
    account.password_hash = password_hash
    db.add(account)
    end_all(db, opened.account_id, at)
    at_once(db, delete(KnownBrowser).where(col(KnownBrowser.account_id) == opened.account_id))
    _withdraw(db, opened.account_id, at)
    keep_event(db, opened.account_id, opened.account_id, "password set by a link", at)


def links_waiting(db: Session, at: datetime) -> dict[int, WayIn]:
    """The link of each account that could still be used."""
    good = select(WayIn).where(col(WayIn.used_at).is_(None), col(WayIn.withdrawn_at).is_(None), col(WayIn.ends_at) > at)
    return {way.account_id: way for way in db.exec(good)}


def withdraw(db: Writing, account_id: int, by_id: int, at: datetime) -> None:
    """Let the link of an account open nothing any more."""
    _withdraw(db, account_id, at)
    keep_event(db, by_id, account_id, "link withdrawn", at)


def _withdraw(db: Writing, account_id: int, at: datetime) -> None:
    at_once(
        db,
        update(WayIn)
        .where(col(WayIn.account_id) == account_id, col(WayIn.used_at).is_(None), col(WayIn.withdrawn_at).is_(None))
        .values(withdrawn_at=at),
    )
