"""Signing in and out: the first owner, accounts, sessions in browsers, tokens for scripts.

A session lasts long, because the phone lies beside the work for weeks; what it could do harm with asks for the password
again. It ends 30 days after it began, and when it was not used for 7 days.
"""

import hashlib
import secrets
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection, bindparam
from sqlalchemy import select as columns
from sqlmodel import Session, SQLModel, col, select, update

from service.errors import Conflict, NotFound, Unreadable
from service.records.db import Reading, Writing
from service.records.prepared import Prepared
from service.records.tables import AccessToken, Account, LoginSession, Stitcher, Studio
from service.records.unchanged import while_unchanged
from service.studio.passwords import check_password, fits, hash_of

SESSION_LASTS = timedelta(days=30)
UNUSED_ENDS_AFTER = timedelta(days=7)
CODE_WITHIN = timedelta(minutes=10)
PROOF_LASTS = timedelta(minutes=15)
CLOCKS_DIFFER = timedelta(minutes=1)


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
class Browser:
    """A signed-in browser: who signed in, when the password was last given there, whether she has a second step."""

    id: int
    person: Person
    proved_at: datetime | None
    last_seen_at: datetime
    has_second_step: bool

    def is_fresh(self, at: datetime) -> bool:
        """Whether the password was given so lately that it need not be asked for again; never by a clock set back."""
        return self.proved_at is not None and -CLOCKS_DIFFER <= at - self.proved_at < PROOF_LASTS


@dataclass(frozen=True, slots=True)
class Caller:
    """What is sent with a request to say who asks: a script's token, or the secret of a browser's session."""

    secret: str
    is_script: bool


@dataclass(frozen=True, slots=True)
class Found:
    """Who asks, and by which browser; a script has none."""

    person: Person
    browser: Browser | None = None


@dataclass(frozen=True, slots=True)
class NewOwner:
    """What the first page asks of the owner."""

    name: str
    email: str
    password: str | None


def sha256(secret: str) -> str:
    """The digest by which a secret is known."""
    return hashlib.sha256(secret.encode()).hexdigest()


def make_first_owner(db: Writing, studio: Studio, owner: NewOwner, at: datetime) -> Account:
    """Open an empty studio: its settings, its owner, and the owner as its first stitcher."""
    if db.exec(select(Studio)).first() is not None:
        raise Conflict("This studio already has an owner. Sign in instead.")
    db.add(studio)
    stitcher = Stitcher(name=owner.name, created_at=at)
    db.add(stitcher)
    db.flush()
    return add_account(db, owner, "owner", stitcher.id, at)


def add_account(db: Writing, who: NewOwner, role: str, stitcher_id: int | None, at: datetime) -> Account:
    """Let somebody sign in; without a password once a link has let her choose one."""
    if who.password is not None:
        check_password(who.password, names_known(db, who.name, who.email))
    email = who.email.strip().lower()
    if db.exec(select(Account).where(Account.email == email)).first() is not None:
        raise Unreadable({"email": "Somebody signs in with that e-mail address already."})
    account = Account(
        email=email,
        name=who.name,
        role=role,
        password_hash=hash_of(secrets.token_urlsafe(32) if who.password is None else who.password),
        stitcher_id=stitcher_id,
        created_at=at,
    )
    db.add(account)
    db.flush()
    return account


def set_passwords(db: Writing, emails: Iterable[str], password: str) -> None:
    """Give these accounts of a studio that is being put together one password; it is hashed once, as that takes time.

    No event tells of it: nobody had another before, and what is brought in stays equal to what was taken out.
    """
    check_password(password)
    hashed = hash_of(password)
    for email in emails:
        of_hers = col(Account.id) == _account(db, email).id
        db.exec(update(Account).where(of_hers).values(password_hash=hashed))


def names_known(db: Session, *own: str) -> tuple[str, ...]:
    """The names that no password may consist of: her own, and the studio's."""
    studio = db.get(Studio, 1)
    return (*own, studio.name if studio else "")


def is_password_of(db: Session, email: str, password: str) -> int | None:
    """The account's id when e-mail and password belong together; the same work is done for an unknown name."""
    account = db.exec(select(Account).where(Account.email == email.strip().lower(), col(Account.active))).first()
    is_right = fits(password, account.password_hash if account else None)
    return account.id if account and is_right else None


def begin_session(db: Writing, account_id: int, at: datetime, *, device: str = "", waits_for_code: bool = False) -> str:
    """Start a signed-in session and return its secret, which is kept nowhere here."""
    secret = secrets.token_urlsafe(32)
    db.add(
        LoginSession(
            account_id=account_id,
            secret_sha256=sha256(secret),
            created_at=at,
            last_seen_at=at,
            ends_at=at + (CODE_WITHIN if waits_for_code else SESSION_LASTS),
            proved_at=None if waits_for_code else at,
            device=device,
            waits_for_code=waits_for_code,
        )
    )
    return secret


def end_session(db: Writing, secret: str, at: datetime) -> None:
    """End a session for good."""
    session = db.exec(select(LoginSession).where(LoginSession.secret_sha256 == sha256(secret))).first()
    if session is not None and session.ended_at is None:
        session.ended_at = at
        db.add(session)


def account_waiting(db: Reading, secret: str, at: datetime) -> int | None:
    """The account whose password was given in that browser, while its code is still waited for."""
    return db.exec(
        select(LoginSession.account_id)
        .join(Account, col(LoginSession.account_id) == Account.id)
        .where(
            LoginSession.secret_sha256 == sha256(secret),
            col(LoginSession.ended_at).is_(None),
            col(LoginSession.ends_at) > at,
            col(LoginSession.waits_for_code),
            col(Account.active),
        )
    ).first()


def browser_of(db: Reading, secret: str, at: datetime) -> Browser | None:
    """The signed-in browser that has this secret, if its session is still good."""
    return _if_good(_not_ended(db, sha256(secret)), at)


def caller_of(connection: Connection, caller: Caller, at: datetime) -> Found | None:
    """Who asks, as far as she may go on: nobody while the studio wants a second step that is not set yet."""
    digest = sha256(caller.secret)
    if caller.is_script:
        person = _person_with_token(connection, digest)
        return Found(person) if person else None
    browser = _if_good(_browser_with(connection, digest), at)
    if browser is None or (not browser.has_second_step and connection.execute(_NEEDS_SECOND_STEP).scalar()):
        return None
    return Found(browser.person, browser)


def _if_good(found: tuple[Browser, datetime] | None, at: datetime) -> Browser | None:
    if found is None:
        return None
    browser, ends_at = found
    return browser if ends_at > at and browser.last_seen_at > at - UNUSED_ENDS_AFTER else None


@while_unchanged
def _not_ended(db: Reading, secret_sha256: str) -> tuple[Browser, datetime] | None:
    return _browser_with(db.connection(), secret_sha256)


def _browser_with(connection: Connection, secret_sha256: str) -> tuple[Browser, datetime] | None:
    """The browser of a session that nobody ended, and when it ends by itself."""
    row = next(iter(_BY_SESSION.rows(connection, {"digest": secret_sha256})), None)
    if row is None:
        return None
    *person, session_id, proved_at, last_seen_at, ends_at, confirmed_at = row
    return Browser(session_id, Person(*person), proved_at, last_seen_at, confirmed_at is not None), ends_at


def _person_with_token(connection: Connection, secret_sha256: str) -> Person | None:
    row = next(iter(_BY_TOKEN.rows(connection, {"digest": secret_sha256})), None)
    return Person(*row) if row else None


_ACCOUNT, _SESSION, _TOKEN, _STEP = (
    SQLModel.metadata.tables[name].c for name in ("account", "login_session", "access_token", "second_step")
)
# Prepared once: every request is looked up by one of them.
_PERSON = columns(_ACCOUNT.id, _ACCOUNT.name, _ACCOUNT.email, _ACCOUNT.role, _ACCOUNT.stitcher_id).where(
    _ACCOUNT.active
)
_BY_SESSION = Prepared(
    _PERSON.add_columns(
        *(_SESSION.id, _SESSION.proved_at, _SESSION.last_seen_at, _SESSION.ends_at, _STEP.confirmed_at),
    )
    .join(SQLModel.metadata.tables["login_session"], _SESSION.account_id == _ACCOUNT.id)
    .outerjoin(SQLModel.metadata.tables["second_step"], _STEP.account_id == _ACCOUNT.id)
    .where(
        _SESSION.secret_sha256 == bindparam("digest"),
        _SESSION.ended_at.is_(None),
        _SESSION.waits_for_code.is_(False),
    )
)
_BY_TOKEN = Prepared(
    _PERSON.join(SQLModel.metadata.tables["access_token"], _TOKEN.account_id == _ACCOUNT.id).where(
        _TOKEN.secret_sha256 == bindparam("digest"), _TOKEN.ended_at.is_(None)
    )
)
_NEEDS_SECOND_STEP = columns(SQLModel.metadata.tables["studio"].c.second_step_needed)


def person_of_session(db: Reading, secret: str, at: datetime) -> Person | None:
    """Who is signed in by that session, if it is still good."""
    browser = browser_of(db, secret, at)
    return browser.person if browser else None


def make_token(db: Writing, email: str, at: datetime) -> str:
    """Make a bearer token for a script that acts as this account."""
    account = _account(db, email)
    secret = secrets.token_urlsafe(32)
    assert account.id is not None
    db.add(AccessToken(account_id=account.id, secret_sha256=sha256(secret), created_at=at))
    return secret


def person_of_token(db: Reading, token: str) -> Person | None:
    """Who acts by that token, if it is still good."""
    return _token_of(db, sha256(token))


@while_unchanged
def _token_of(db: Reading, secret_sha256: str) -> Person | None:
    return _person_with_token(db.connection(), secret_sha256)


def account_called(db: Session, email: str) -> int:
    """The number of the account that signs in with that address, or a refusal."""
    account = _account(db, email)
    assert account.id is not None
    return account.id


def _account(db: Session, email: str) -> Account:
    account = db.exec(select(Account).where(Account.email == email.strip().lower())).first()
    if account is None:
        raise NotFound(f"Nobody signs in with {email}.")
    return account
