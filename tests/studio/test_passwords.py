"""Which passwords may be chosen, and that a wrong name costs as much work as a wrong password."""

from collections.abc import Callable
from typing import Any

import pytest

from service.records.db import Database
from service.studio import passwords
from service.studio.passwords import LEAST_PASSWORD, common_passwords, fault_of
from service.studio.sign_in import is_password_of
from tests.serving import OWNER, PASSWORD

NAMES = ("Ottilie Brook", OWNER, "Larkfield Whitework")


@pytest.mark.parametrize(
    "chosen",
    [
        "password1234",
        "Password1234!",
        "!!iloveyou123456",
        "1234567890qwerty",
        "QWERTYUIOP123",
        "zzzzzzzzzzzzzzzz",
        "abcabcabcabcabca",
        "christening123",
    ],
)
def test_what_is_guessed_first_is_refused(chosen: str) -> None:
    assert fault_of(chosen).startswith("That password is among the first that anybody would guess.")


@pytest.mark.parametrize("chosen", ["OttilieBrook1", "owner@studio.example", "Larkfield-Whitework", "brook.ottilie.99"])
def test_ones_own_name_and_the_studios_are_refused(chosen: str) -> None:
    assert fault_of(chosen, NAMES).startswith("That password is little more than a name")


@pytest.mark.parametrize(
    "chosen",
    [PASSWORD, "nine more threads", "a" * 3 + "b c" * 40, "       quiet well      ", "päivänkakkara ☼ 12", "x7#" * 66],
)
def test_any_other_is_taken_without_a_rule_for_capitals_or_signs(chosen: str) -> None:
    assert fault_of(chosen, NAMES) in {"", fault_of("abcabcabcabc")}
    assert bool(fault_of(chosen, NAMES)) == (len(set(chosen)) <= 3)


@pytest.mark.parametrize("length", [1, 11, 201, 5000])
def test_too_short_and_too_long_ones_are_refused(length: int) -> None:
    assert fault_of("tea and 9 threads ".ljust(length, "k")[:length]) == "Choose a password of 12 to 200 characters."


def test_the_list_holds_thousands_of_passwords_that_would_otherwise_do() -> None:
    listed = common_passwords()
    assert len(listed) >= 3000
    assert all(len(one) >= LEAST_PASSWORD and one == one.lower() for one in listed)


@pytest.mark.parametrize(("email", "digests"), [(OWNER, ["verify"]), ("nobody@studio.example", ["hash"])])
def test_an_unknown_name_costs_one_slow_digest_as_a_wrong_password_does(
    sqlite_database: Database, monkeypatch: pytest.MonkeyPatch, email: str, digests: list[str]
) -> None:
    made: list[str] = []
    hasher = passwords._hasher()
    for name in ("hash", "verify"):
        monkeypatch.setattr(hasher, name, _counted(made, name, getattr(hasher, name)))
    with sqlite_database.reading() as db:
        assert is_password_of(db, email, "wrong threads altogether") is None
    assert made == digests


def _counted(made: list[str], name: str, work: Callable[..., Any]) -> Callable[..., Any]:
    def counted(*asked: Any) -> Any:
        made.append(name)
        return work(*asked)

    return counted
