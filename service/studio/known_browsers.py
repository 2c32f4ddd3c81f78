"""Browsers in which an account signed in before: their tries are counted apart, so that no stranger makes her wait."""

import secrets
from datetime import datetime, timedelta

from sqlalchemy import delete
from sqlmodel import Session, col, select

from service.records.at_once import at_once
from service.records.db import Writing
from service.records.tables import Account, KnownBrowser
from service.studio.sign_in import sha256

KNOWN_FOR = timedelta(days=180)


def is_known(db: Session, secret: str, email: str, at: datetime) -> bool:
    """Whether that account signed in before in the browser that has this secret."""
    found = (
        select(KnownBrowser.id)
        .join(Account, col(KnownBrowser.account_id) == Account.id)
        .where(KnownBrowser.secret_sha256 == sha256(secret), Account.email == email, col(KnownBrowser.ends_at) > at)
    )
    return bool(secret) and db.exec(found).first() is not None


def make_known(db: Writing, account_id: int, at: datetime, old_secret: str = "") -> str:
    """Know a browser from now on by a new secret, in place of its old one."""
    at_once(
        db,
        delete(KnownBrowser).where(
            (col(KnownBrowser.ends_at) <= at)
            | ((col(KnownBrowser.account_id) == account_id) & (col(KnownBrowser.secret_sha256) == sha256(old_secret)))
        ),
    )
    secret = secrets.token_urlsafe(32)
    db.add(KnownBrowser(account_id=account_id, secret_sha256=sha256(secret), created_at=at, ends_at=at + KNOWN_FOR))
    return secret
