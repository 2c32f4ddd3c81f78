"""Signing in and out: the first owner, accounts, sessions in browsers, tokens for scripts."""

import hashlib
import secrets
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache

from pwdlib import PasswordHash
from sqlmodel import Session, col, select

from service.errors import Conflict, NotFound, Unreadable
from service.records.db import Reading, Writing
from service.records.tables import AccessToken, Account, LoginSession, Stitcher, Studio

SESSION_LASTS = timedelta(days=30)
LEAST_PASSWORD = 10
MOST_PASSWORD = 200


@dataclass(frozen=True, slots=True)
class Person:
    """Whoever is signed in."""

    id: int
    name: str
    email: str
    role: str
    stitcher_id: int | None

    @property
    def is_owner(self) -> bool:
        """Whether this is the owner of the studio."""
        return self.role == "owner"


@dataclass(frozen=True, slots=True)
class NewOwner:
    """What the first page asks of the owner."""

    name: str
    email: str
    password: str


@cache
def _hasher() -> PasswordHash:
    return PasswordHash.recommended()


@cache
def _nobody() -> str:
    return _hasher().hash(secrets.token_hex(16))


def sha256(secret: str) -> str:
    """The digest by which a secret is known."""
    return hashlib.sha256(secret.encode()).hexdigest()


def check_password(password: str) -> None:
    """Refuse a password too short or too long to be one."""
    if not LEAST_PASSWORD <= len(password) <= MOST_PASSWORD:
        raise Unreadable({"password": f"Choose a password of {LEAST_PASSWORD} to {MOST_PASSWORD} characters."})


def make_first_owner(db: Writing, studio: Studio, owner: NewOwner, at: datetime) -> Account:
    """Open an empty studio: its settings, its owner, and the owner as its first stitcher."""
    if db.exec(select(Studio)).first() is not None:
        raise Conflict("This studio already has an owner. Sign in instead.")
    check_password(owner.password)
    db.add(studio)
    stitcher = Stitcher(name=owner.name, created_at=at)
    db.add(stitcher)
    db.flush()
    return add_account(db, owner, "owner", stitcher.id, at)


def add_account(db: Writing, who: NewOwner, role: str, stitcher_id: int | None, at: datetime) -> Account:
    """Let somebody sign in."""
    check_password(who.password)
    email = who.email.strip().lower()
    if db.exec(select(Account).where(Account.email == email)).first() is not None:
        raise Unreadable({"email": "Somebody signs in with that e-mail address already."})
    account = Account(
        email=email,
        name=who.name,
        role=role,
        password_hash=_hasher().hash(who.password),
        stitcher_id=stitcher_id,
        created_at=at,
    )
    db.add(account)
    db.flush()
    return account


def set_passwords(db: Writing, emails: Iterable[str], password: str) -> None:
    """Give these accounts one new password; it is hashed once, since that takes its time."""
    check_password(password)
    hashed = _hasher().hash(password)
    for email in emails:
        account = _account(db, email)
        account.password_hash = hashed
        db.add(account)


def change_password(db: Writing, account_id: int, old: str, new: str) -> None:
    """Change one's own password, knowing the old one."""
    account = db.get_one(Account, account_id)
    if is_password_of(db, account.email, old) is None:
        raise Unreadable({"old": "That is not your password now."})
    check_password(new)
    account.password_hash = _hasher().hash(new)
    db.add(account)


def is_password_of(db: Session, email: str, password: str) -> int | None:
    """The account's id when e-mail and password belong together; the same work is done for an unknown name."""
    account = db.exec(select(Account).where(Account.email == email.strip().lower(), col(Account.active))).first()
    known = account.password_hash if account else _nobody()
    fits = len(password) <= MOST_PASSWORD and _hasher().verify(password, known)
    return account.id if account and fits else None


def begin_session(db: Writing, account_id: int, at: datetime) -> str:
    """Start a signed-in session and return its secret, which is kept nowhere here."""
    secret = secrets.token_urlsafe(32)
    db.add(
        LoginSession(
            account_id=account_id,
            secret_sha256=sha256(secret),
            created_at=at,
            last_seen_at=at,
            ends_at=at + SESSION_LASTS,
        )
    )
    return secret


def end_session(db: Writing, secret: str, at: datetime) -> None:
    """End a session for good."""
    session = db.exec(select(LoginSession).where(LoginSession.secret_sha256 == sha256(secret))).first()
    if session is not None and session.ended_at is None:
        session.ended_at = at
        db.add(session)


def person_of_session(db: Reading, secret: str, at: datetime) -> Person | None:
    """Who is signed in by that session, if it is still good."""
    row = db.exec(
        select(Account)
        .join(LoginSession, col(LoginSession.account_id) == Account.id)
        .where(
            LoginSession.secret_sha256 == sha256(secret),
            col(LoginSession.ended_at).is_(None),
            col(LoginSession.ends_at) > at,
            col(Account.active),
        )
    ).first()
    return _person(row)


def make_token(db: Writing, email: str, at: datetime) -> str:
    """Make a bearer token for a script that acts as this account."""
    account = _account(db, email)
    secret = secrets.token_urlsafe(32)
    assert account.id is not None
    db.add(AccessToken(account_id=account.id, secret_sha256=sha256(secret), created_at=at))
    return secret


def person_of_token(db: Reading, token: str) -> Person | None:
    """Who acts by that token, if it is still good."""
    row = db.exec(
        select(Account)
        .join(AccessToken, col(AccessToken.account_id) == Account.id)
        .where(
            AccessToken.secret_sha256 == sha256(token),
            col(AccessToken.ended_at).is_(None),
            col(Account.active),
        )
    ).first()
    return _person(row)


def _account(db: Session, email: str) -> Account:
    account = db.exec(select(Account).where(Account.email == email.strip().lower())).first()
    if account is None:
        raise NotFound(f"Nobody signs in with {email}.")
    return account


def _person(account: Account | None) -> Person | None:
    if account is None:
        return None
    assert account.id is not None
    return Person(account.id, account.name, account.email, account.role, account.stitcher_id)
