"""The second step of signing in: a code that her phone makes from a shared secret and the time (RFC 6238).

Thirty seconds a code, six figures; the one before and the one after are taken too, for clocks that differ. Each is good
once: the counter of the last one used is kept, and nothing at or before it is taken again.
"""

import base64
import hashlib
import secrets
from datetime import datetime

import pyotp
from sqlalchemy import delete, or_, update
from sqlmodel import Session, col, select

from service.errors import Conflict, Unreadable
from service.records.at_once import at_once
from service.records.db import Writing
from service.records.tables import Account, RecoveryCode, SecondStep
from service.studio.sessions import keep_event

EITHER_WAY = 1
RECOVERY_CODES = 8
RECOVERY_BYTES = 15
FIGURES = 6
NOT_RIGHT = "That is not the code of this moment, or it was used already. Wait for the next one and type that."


def second_step_of(db: Session, account_id: int) -> SecondStep | None:
    """The second step of an account, confirmed or not yet."""
    return db.exec(select(SecondStep).where(SecondStep.account_id == account_id)).first()


def has_second_step(db: Session, account_id: int) -> bool:
    """Whether signing in asks this account for a code."""
    step = second_step_of(db, account_id)
    return step is not None and step.confirmed_at is not None


def begin(db: Writing, account_id: int, at: datetime) -> SecondStep:
    """The secret to put into the phone; the same one until a first code of it was confirmed."""
    step = second_step_of(db, account_id)
    if step is None:
        step = SecondStep(account_id=account_id, secret=pyotp.random_base32(), created_at=at)
        db.add(step)
        db.flush()
    if step.confirmed_at is not None:
        raise Conflict("The second step is set already. To put it on another phone, turn it off first.")
    return step


def address_for_phone(step: SecondStep, email: str, studio: str) -> str:
    """What the picture for the phone holds: the secret, whose it is, and of which studio."""
    return pyotp.TOTP(step.secret).provisioning_uri(name=email, issuer_name=studio.replace(":", " "))


def confirm(db: Writing, account_id: int, typed: str, at: datetime) -> list[str]:
    """Put the second step in use by a first code of it; gives the recovery codes, shown this once."""
    step = second_step_of(db, account_id)
    if step is None or step.confirmed_at is not None:
        raise Conflict("Begin with the picture for your phone.")
    if not _uses(db, step, _tidy(typed), at):
        raise Unreadable({"code": NOT_RIGHT})
    step.confirmed_at = at
    db.add(step)
    keep_event(db, account_id, account_id, "second step set", at)
    return new_recovery_codes(db, account_id, at)


def new_recovery_codes(db: Writing, account_id: int, at: datetime) -> list[str]:
    """Fresh codes for the day the phone is lost; those made before are good for nothing any more."""
    _drop_codes(db, account_id)
    codes = [_recovery_code() for _ in range(RECOVERY_CODES)]
    db.add_all(RecoveryCode(account_id=account_id, code_sha256=_digest(code), created_at=at) for code in codes)
    return codes


def codes_left(db: Session, account_id: int) -> int:
    """How many recovery codes are not used yet."""
    unused = select(RecoveryCode.id).where(RecoveryCode.account_id == account_id, col(RecoveryCode.used_at).is_(None))
    return len(db.exec(unused).all())


def unused(db: Session, account_id: int, codes: list[str]) -> list[str]:
    """Those of these recovery codes that are still good."""
    good = select(RecoveryCode.code_sha256).where(
        RecoveryCode.account_id == account_id, col(RecoveryCode.used_at).is_(None)
    )
    digests = set(db.exec(good))
    return [code for code in codes if _digest(code) in digests]


def takes_code(db: Writing, account_id: int, typed: str, at: datetime) -> bool:
    """Use up a code of the phone, or a recovery code; whether it was good."""
    step, code = second_step_of(db, account_id), _tidy(typed)
    if step is None or step.confirmed_at is None:
        return False
    if len(code) <= FIGURES:
        return _uses(db, step, code, at)
    used = at_once(
        db,
        update(RecoveryCode)
        .where(
            col(RecoveryCode.account_id) == account_id,
            col(RecoveryCode.code_sha256) == _digest(code),
            col(RecoveryCode.used_at).is_(None),
        )
        .values(used_at=at),
    )
    if used == 1:
        keep_event(db, account_id, account_id, "recovery code used", at)
    return used == 1


def turn_off(db: Writing, account_id: int, by_id: int | None, at: datetime) -> None:
    """Ask this account for the password alone from now on."""
    at_once(db, delete(SecondStep).where(col(SecondStep.account_id) == account_id))
    _drop_codes(db, account_id)
    keep_event(db, by_id, account_id, "second step turned off", at)


def accounts_without(db: Session) -> list[Account]:
    """Who may sign in and has no second step yet."""
    found = (
        select(Account)
        .outerjoin(SecondStep, col(SecondStep.account_id) == Account.id)
        .where(col(Account.active), col(SecondStep.confirmed_at).is_(None))
        .order_by(col(Account.name), col(Account.id))
    )
    return list(db.exec(found))


def _uses(db: Writing, step: SecondStep, code: str, at: datetime) -> bool:
    """Use up a code: in one statement, so that of two who send it at once only one comes in."""
    maker = pyotp.TOTP(step.secret)
    try:
        counter = maker.verify_and_get_timecode(code, for_time=at, valid_window=EITHER_WAY)
    except pyotp.OTPVerificationError:
        return False
    last = col(SecondStep.last_counter)
    used = at_once(
        db,
        update(SecondStep)
        .where(col(SecondStep.id) == step.id, or_(last.is_(None), last < counter))
        .values(last_counter=counter),
    )
    db.refresh(step)
    return used == 1


def _drop_codes(db: Writing, account_id: int) -> None:
    at_once(db, delete(RecoveryCode).where(col(RecoveryCode.account_id) == account_id))


def _recovery_code() -> str:
    """120 bits in six groups of four letters and figures."""
    text = base64.b32encode(secrets.token_bytes(RECOVERY_BYTES)).decode().lower()
    return "-".join(text[place : place + 4] for place in range(0, len(text), 4))


def _tidy(typed: str) -> str:
    """A code without the blanks and dashes that people type between.

    >>> _tidy(" 123 456"), _tidy("ABCD-efgh")
    ('123456', 'abcdefgh')
    """
    return "".join(sign for sign in typed.lower() if sign.isalnum())


def _digest(code: str) -> str:
    return hashlib.sha256(_tidy(code).encode()).hexdigest()
