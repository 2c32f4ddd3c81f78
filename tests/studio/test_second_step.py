"""The second step: each code once, a little room for clocks, recovery codes for the day the phone is lost."""

import re
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pyotp
import pytest
from sqlmodel import select

from service.errors import Conflict, Unreadable
from service.records.db import Database, Writing
from service.records.tables import RecoveryCode, SecondStep
from service.studio import second_step
from tests.counting import person
from tests.serving import OWNER, START

STEP = timedelta(seconds=30)


def _set(db: Writing) -> tuple[int, pyotp.TOTP, list[str]]:
    """The owner's second step, set by the code of START, with her recovery codes."""
    account_id = person(db, OWNER).id
    phone = pyotp.TOTP(second_step.begin(db, account_id, START).secret)
    return account_id, phone, second_step.confirm(db, account_id, phone.at(START), START)


def test_it_is_asked_for_only_once_a_first_code_was_right(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        account_id = person(db, OWNER).id
        secret = second_step.begin(db, account_id, START).secret
        assert second_step.begin(db, account_id, START + STEP).secret == secret
        with pytest.raises(Unreadable, match="not the code of this moment"):
            second_step.confirm(db, account_id, "000000", START)
        assert not second_step.has_second_step(db, account_id)
        assert not second_step.takes_code(db, account_id, pyotp.TOTP(secret).at(START), START)
        second_step.confirm(db, account_id, pyotp.TOTP(secret).at(START), START)
        assert second_step.has_second_step(db, account_id)
        with pytest.raises(Conflict, match="set already"):
            second_step.begin(db, account_id, START)


def test_a_code_lets_in_once_and_none_older_after_it(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        account_id, phone, _ = _set(db)
        assert not second_step.takes_code(db, account_id, phone.at(START), START)
        later = START + 4 * STEP
        assert second_step.takes_code(db, account_id, f" {phone.at(later)[:3]} {phone.at(later)[3:]}", later)
        assert not second_step.takes_code(db, account_id, phone.at(later), later)
        assert not second_step.takes_code(db, account_id, phone.at(later - STEP), later)
        assert second_step.takes_code(db, account_id, phone.at(later + STEP), later)


@pytest.mark.parametrize(("steps", "taken"), [(-2, False), (-1, True), (0, True), (1, True), (2, False)])
def test_a_phone_may_go_half_a_minute_wrong_and_no_more(sqlite_database: Database, steps: int, *, taken: bool) -> None:
    with sqlite_database.writing() as db:
        account_id, phone, _ = _set(db)
        at = START + 10 * STEP
        assert second_step.takes_code(db, account_id, phone.at(at + steps * STEP), at) is taken


def test_the_same_code_sent_twice_at_once_lets_in_once(database: Database) -> None:
    with database.writing() as db:
        account_id, phone, codes = _set(db)
    at = START + 10 * STEP

    def send(code: str) -> bool:
        with database.writing() as db:
            return second_step.takes_code(db, account_id, code, at)

    with ThreadPoolExecutor(4) as pool:
        assert sum(pool.map(send, [phone.at(at)] * 4)) == 1
        assert sum(pool.map(send, [codes[0]] * 4)) == 1


def test_recovery_codes_are_long_kept_as_digests_and_good_once(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        account_id, _, codes = _set(db)
        assert len(set(codes)) == 8
        assert all(re.fullmatch(r"([a-z2-7]{4}-){5}[a-z2-7]{4}", code) for code in codes)  # 24 of 32 signs: 120 bits
        kept = str(db.exec(select(RecoveryCode)).all())
        assert not any(code in kept or code.replace("-", "") in kept for code in codes)
        assert second_step.takes_code(db, account_id, codes[3].upper().replace("-", " "), START)
        assert not second_step.takes_code(db, account_id, codes[3], START)
        assert second_step.codes_left(db, account_id) == 7
        fresh = second_step.new_recovery_codes(db, account_id, START)
        assert not second_step.takes_code(db, account_id, codes[4], START)
        assert second_step.takes_code(db, account_id, fresh[4], START)


def test_turned_off_nothing_of_it_is_left(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        account_id, _, codes = _set(db)
        second_step.turn_off(db, account_id, account_id, START)
        assert not second_step.has_second_step(db, account_id)
        assert db.exec(select(SecondStep)).all() == []
        assert not second_step.takes_code(db, account_id, codes[0], START)


def test_the_picture_holds_what_phones_read(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        step = second_step.begin(db, person(db, OWNER).id, START)
        address = second_step.address_for_phone(step, OWNER, "Lark: Field & Co")
        read = pyotp.parse_uri(address)
        assert (read.secret, read.name, read.issuer) == (step.secret, OWNER, "Lark  Field & Co")
        assert len(step.secret) == 32  # 160 bits, as long as the digest it is used with
