"""Stitchers and garments as somebody names them: by name or number, one of them and no other."""

from typing import Any

from sqlmodel import col, select

from service.errors import NotAllowed
from service.reckoning.asked import Wrong
from service.records.db import Reading, Writing
from service.records.queries.standing import is_seen_by
from service.records.tables import Account, Garment, Stitcher
from service.studio.rates import whose
from service.studio.sign_in import Person

LONGEST_NUMBER = 9
THE_SHELF = "shelf"


def stitcher_label(db: Reading, person: Person, name: str, field: str = "stitcher") -> str:
    """The name under which the fit knows this stitcher; a pace is the owner's and its stitcher's own to see."""
    number = _number_of(db, Stitcher, name, field, "stitcher")
    if not person.is_owner and number != person.stitcher_id:
        raise NotAllowed("Another stitcher's pace is the owner's to see. Leave the stitcher out, or name yourself.")
    return whose(number)


def garment_label(db: Reading, person: Person, name: str, field: str = "garment") -> str:
    """The name under which the fit knows this garment; unknown to a stitcher who holds nothing of it."""
    number = _number_of(db, Garment, name, field, "garment")
    if not person.is_owner and not is_seen_by(db, number, person.stitcher_id):
        raise _unknown(name, field, "garment")
    return str(number)


def receiver_named(db: Reading | Writing, to: int | str | None) -> int | None:
    """The stitcher somebody hands a piece to, by number, name or e-mail address; None is the shelf."""
    if to is None or isinstance(to, int):
        return to
    if to.strip().lower() == THE_SHELF:
        return None
    if "@" in to:
        email = to.strip().lower()
        found = db.exec(select(Account.stitcher_id).where(Account.email == email)).first()
        if found is None:
            raise _unknown(to, "to", "stitcher")
        return found
    return _number_of(db, Stitcher, to, "to", "stitcher")


def _number_of(db: Reading | Writing, table: Any, name: str, field: str, what: str) -> int:
    found = list(db.exec(select(table.id).where(col(table.name) == name).limit(2)))
    if len(found) > 1:
        raise Wrong(field, f"is not clear: several are called {name!r}, so give the {what}'s number instead")
    if not found and name.isascii() and name.isdigit() and len(name) <= LONGEST_NUMBER:
        found = list(db.exec(select(table.id).where(table.id == int(name))))
    if not found:
        raise _unknown(name, field, what)
    return int(found[0])


def _unknown(name: str, field: str, what: str) -> Wrong:
    return Wrong(field, f"is unknown: the studio has no {what} called {name!r}")
