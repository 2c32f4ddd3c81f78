"""Clients and stitchers as lists show them."""

from sqlalchemy import func
from sqlmodel import col, select

from service.records.db import Reading
from service.records.folding import holding
from service.records.tables import Client

PAGE = 100


def clients_by_name(db: Reading, words: str, *, put_away: bool) -> list[Client]:
    """Clients whose name, e-mail or notes hold these words, by name."""
    found = select(Client).where(col(Client.put_away) == put_away)
    if words.strip():
        found = found.where(holding(words, Client.name, Client.email, Client.notes))
    return list(db.exec(found.order_by(func.lower(Client.name), col(Client.id)).limit(PAGE)))


def every_client(db: Reading) -> list[Client]:
    """Every client, by name."""
    return list(db.exec(select(Client).order_by(func.lower(Client.name), col(Client.id))))
