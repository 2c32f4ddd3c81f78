"""The designs that come with the service, to be taken into the studio's own book."""

from datetime import datetime
from functools import cache
from pathlib import Path

from sqlmodel import select

from service.errors import Conflict, NotFound
from service.reckoning.design_text import read_design
from service.records import tables
from service.records.db import Reading, Writing
from service.studio.designs import add_design

FOLDER = Path(__file__).resolve().parents[2] / "seed_data" / "designs"


@cache
def ready_designs() -> dict[str, str]:
    """The text of every design that comes with the service, by its key; the smallest piece first."""
    texts = {path.stem: path.read_text(encoding="utf-8") for path in FOLDER.glob("*.toml")}
    return dict(sorted(texts.items(), key=lambda pair: (len(read_design(pair[1]).every_section), pair[0])))


def taken_already(db: Reading) -> dict[str, int]:
    """The designs of the book by their key: the number of each."""
    return {key: number for key, number in db.exec(select(tables.Design.key, tables.Design.id)) if number is not None}


def take_ready(db: Writing, key: str, at: datetime) -> tables.Design:
    """Take one of them into the book."""
    text = ready_designs().get(key)
    if text is None:
        raise NotFound("There is no such design among those that are ready.")
    if db.exec(select(tables.Design.id).where(tables.Design.key == key)).first() is not None:
        raise Conflict("That design stands in your book already. Copy it there to make another of it.")
    return add_design(db, read_design(text), at)
