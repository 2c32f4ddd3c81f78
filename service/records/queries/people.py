"""Clients and stitchers as lists show them."""

from sqlalchemy import func
from sqlmodel import col, select

from service.records.db import Reading
from service.records.tables import Client

PAGE = 100


def contains(words: str) -> str:
    """A LIKE pattern for rows that hold these words as typed."""
    escaped = words.strip().lower().replace("\\", r"\\").replace("%", r"\%").replace("_", r"\_")
    return f"%{escaped}%"


def clients_by_name(db: Reading, words: str, *, put_away: bool) -> list[Client]:
    """Clients whose name, e-mail or notes hold these words, by name."""
    found = select(Client).where(col(Client.put_away) == put_away)
    if words.strip():
        pattern = contains(words)
        found = found.where(
            func.lower(Client.name).like(pattern, escape="\\")
            | func.lower(Client.email).like(pattern, escape="\\")
            | func.lower(Client.notes).like(pattern, escape="\\")
        )
    return list(db.exec(found.order_by(func.lower(Client.name), col(Client.id)).limit(PAGE)))
