"""Passwords: which may be chosen, and the slow digest by which they are known.

Argon2id as the package recommends. No rule asks for capitals or signs; what is refused is short, guessed first, or the
person's or the studio's own name.
"""

import re
from collections.abc import Iterable
from functools import cache
from pathlib import Path

from pwdlib import PasswordHash

from service.errors import Unreadable

LEAST_PASSWORD = 12
MOST_PASSWORD = 200
LEAST_OF_ITS_OWN = 5
COMMON = Path(__file__).resolve().parents[2] / "seed_data/common_passwords.txt"


@cache
def _hasher() -> PasswordHash:
    return PasswordHash.recommended()


@cache
def common_passwords() -> frozenset[str]:
    """The passwords that are guessed first, in lower case."""
    lines = COMMON.read_text(encoding="utf-8").splitlines()
    return frozenset(line for line in lines if not line.startswith("# "))


def hash_of(password: str) -> str:
    """The digest that is kept of a password."""
    return _hasher().hash(password)


def fits(password: str, password_hash: str | None) -> bool:
    """Whether that is the password of this digest. Without one the same work is done, and nothing fits."""
    if len(password) > MOST_PASSWORD:
        return False
    if password_hash is None:
        _hasher().hash(password)
        return False
    return _hasher().verify(password, password_hash)


def fault_of(password: str, names: Iterable[str] = ()) -> str:
    """Why a password may not be chosen, as a sentence; nothing when it may.

    >>> fault_of("seven linen threads"), fault_of("Password1234!")
    ('', 'That password is among the first that anybody would guess. Choose a few words that do not belong together.')
    """
    if not LEAST_PASSWORD <= len(password) <= MOST_PASSWORD:
        return f"Choose a password of {LEAST_PASSWORD} to {MOST_PASSWORD} characters."
    lowered = password.lower()
    bare = re.sub(r"^[\W_]+|[\W_]+$", "", lowered)
    if lowered in common_passwords() or bare in common_passwords() or _repeats(lowered):
        return (
            "That password is among the first that anybody would guess. Choose a few words that do not belong together."
        )
    if len(_without(names, lowered)) < LEAST_OF_ITS_OWN:
        return "That password is little more than a name that others know. Choose something of its own."
    return ""


def check_password(password: str, names: Iterable[str] = ()) -> None:
    """Refuse a password that may not be chosen. `names` are those that others know: hers, her address, the studio's."""
    if sentence := fault_of(password, names):
        raise Unreadable({"password": sentence})


def _repeats(text: str) -> bool:
    """Whether the text is a few characters over and over.

    >>> _repeats("abcabcabcabca"), _repeats("seven linen threads")
    (True, False)
    """
    return any(text == (text[:long] * len(text))[: len(text)] for long in range(1, 5))


def _without(names: Iterable[str], lowered: str) -> str:
    """What is left of a password when the words of these names, and all signs, are taken out.

    >>> _without(["Ottilie Brook", "ottilie@studio.example"], "ottilie.brook1!")
    '1'
    """
    words = {word for name in names for word in re.split(r"[\W_]+", name.lower()) if len(word) > 3}
    for word in sorted(words, key=len, reverse=True):
        lowered = lowered.replace(word, "")
    return re.sub(r"[\W_]", "", lowered)
