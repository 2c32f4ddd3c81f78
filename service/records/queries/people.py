"""Clients and stitchers as lists show them."""

from sqlalchemy import ColumnElement, func, or_
from sqlmodel import col, select

from service.records.db import Reading
from service.records.tables import Client

PAGE = 100


def holding(words: str, *columns: str) -> ColumnElement[bool]:
    """Whether one of these columns holds these words as typed, in small or capital letters.

    Both sides are brought to small letters by the database alike: SQLite knows those of ASCII only.
    """
    return or_(*(col(column).icontains(words.strip(), autoescape=True) for column in columns))


def clients_by_name(db: Reading, words: str, *, put_away: bool) -> list[Client]:
    """Clients whose name, e-mail or notes hold these words, by name."""
    found = select(Client).where(col(Client.put_away) == put_away)
    if words.strip():
        found = found.where(holding(words, Client.name, Client.email, Client.notes))
    return list(db.exec(found.order_by(func.lower(Client.name), col(Client.id)).limit(PAGE)))
