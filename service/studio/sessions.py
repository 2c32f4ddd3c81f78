"""Where an account is signed in: listed, ended one by one or all at once, proved afresh, and when last used."""

from collections.abc import Mapping
from datetime import datetime

from sqlalchemy import ColumnElement, func, update
from sqlmodel import Session, col, select

from service.errors import NotFound
from service.records.at_once import at_once
from service.records.db import Writing
from service.records.tables import AccessToken, Account, Event, LoginSession
from service.studio.sign_in import UNUSED_ENDS_AFTER


def account_with(db: Session, account_id: int) -> Account:
    """The account of that number, or a refusal."""
    account = db.get(Account, account_id)
    if account is None:
        raise NotFound("There is no such account.")
    return account


def _open_at(at: datetime) -> tuple[ColumnElement[bool], ...]:
    return (
        col(LoginSession.ended_at).is_(None),
        col(LoginSession.ends_at) > at,
        col(LoginSession.last_seen_at) > at - UNUSED_ENDS_AFTER,
        col(LoginSession.waits_for_code).is_(False),
    )


def open_sessions(db: Session, account_id: int, at: datetime) -> list[LoginSession]:
    """Where this account is signed in, the one last used first."""
    found = (
        select(LoginSession)
        .where(LoginSession.account_id == account_id, *_open_at(at))
        .order_by(col(LoginSession.last_seen_at).desc(), col(LoginSession.id).desc())
    )
    return list(db.exec(found))


def hold(db: Writing, account_id: int) -> Account:
    """The account, held until this is written: nobody switches it off or makes a link for it meanwhile."""
    account = db.get(Account, account_id, with_for_update=True, populate_existing=True)
    if account is None:
        raise NotFound("There is no such account.")
    return account


def open_counts(db: Session, at: datetime) -> dict[int, int]:
    """In how many browsers each account is signed in."""
    found = select(LoginSession.account_id, func.count()).where(*_open_at(at)).group_by(col(LoginSession.account_id))
    return dict(db.exec(found).all())


def open_tokens(db: Session, account_id: int) -> list[AccessToken]:
    """The tokens with which scripts act as this account, the newest first."""
    found = select(AccessToken).where(AccessToken.account_id == account_id, col(AccessToken.ended_at).is_(None))
    return list(db.exec(found.order_by(col(AccessToken.id).desc())))


def end_one(db: Writing, account_id: int, session_id: int, by_id: int, at: datetime) -> None:
    """Sign an account out in one browser."""
    session = db.get(LoginSession, session_id)
    if session is None or session.account_id != account_id:
        raise NotFound("That sign-in is not there.")
    _end(db, session, "signed out elsewhere", by_id, at)


def end_all(db: Writing, account_id: int, at: datetime, *, but: int | None = None) -> int:
    """Sign an account out everywhere, except in one browser; gives in how many."""
    open_ones = select(LoginSession).where(LoginSession.account_id == account_id, col(LoginSession.ended_at).is_(None))
    ended = 0
    for session in db.exec(open_ones):
        if session.id != but:
            session.ended_at = at
            db.add(session)
            ended += 1
    return ended


def end_token(db: Writing, account_id: int, token_id: int, by_id: int, at: datetime) -> None:
    """End a script's token."""
    token = db.get(AccessToken, token_id)
    if token is None or token.account_id != account_id:
        raise NotFound("That token is not there.")
    _end(db, token, "token ended", by_id, at)


def end_tokens(db: Writing, account_id: int, at: datetime) -> None:
    """End every token of an account."""
    for token in open_tokens(db, account_id):
        token.ended_at = at
        db.add(token)


def _end(db: Writing, access: LoginSession | AccessToken, action: str, by_id: int, at: datetime) -> None:
    """End one way in, unless it has ended already, and keep by whom."""
    if access.ended_at is None:
        access.ended_at = at
        db.add(access)
        keep_event(db, by_id, access.account_id, action, at)


def prove(db: Writing, session_id: int, at: datetime) -> None:
    """Write down that the password was given again in this browser."""
    session = db.get_one(LoginSession, session_id)
    session.proved_at = at
    db.add(session)


def note_seen(db: Writing, seen: Mapping[int, datetime]) -> None:
    """Write down when sessions were last used; never an earlier moment than what stands there."""
    for session_id, at in sorted(seen.items()):
        at_once(
            db,
            update(LoginSession)
            .where(col(LoginSession.id) == session_id, col(LoginSession.last_seen_at) < at)
            .values(last_seen_at=at),
        )


def keep_event(db: Writing, by_id: int | None, account_id: int, action: str, at: datetime) -> None:
    """Keep what was done to an account, and by whom."""
    db.add(Event(at=at, account_id=by_id, action=action, object_kind="account", object_id=account_id))
