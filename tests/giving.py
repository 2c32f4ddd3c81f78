"""Pieces put into hands for a test: offered by one person and taken by whoever receives them."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlmodel import select

from service.records.db import Database, Writing, open_database
from service.records.tables import Account, Garment
from service.studio.handovers import Offer, pass_on
from service.studio.sign_in import Person


@dataclass(frozen=True)
class Giving:
    """These panels of a garment (all when none is named) go to a stitcher, or to the shelf when nobody is named."""

    garment_id: int
    to_stitcher_id: int | None
    panel_ids: frozenset[int] = frozenset()
    note: str = ""


def give(db: Writing, giver: Person, giving: Giving, at: datetime) -> Garment:
    """Offer it and take it at once; what goes to the shelf is taken in by the owner."""
    to = giving.to_stitcher_id
    found = select(Account).where(Account.role == "owner" if to is None else Account.stitcher_id == to)
    account = db.exec(found).one()
    assert account.id is not None
    taker = Person(account.id, account.name, account.email, account.role, account.stitcher_id)
    pass_on(db, giver, taker, Offer(giving.garment_id, to, giving.panel_ids, notes=giving.note), at)
    return db.get_one(Garment, giving.garment_id)


@contextmanager
def opened_copy(template: Path, folder: Path) -> Iterator[Database]:
    """A copy of a prepared SQLite studio, opened while the block runs."""
    path = folder / "studio.sqlite"
    shutil.copyfile(template, path)
    database = open_database(f"sqlite:///{path}")
    yield database
    database.close()
