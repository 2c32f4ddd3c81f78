"""Clients: who asks for the work."""

from dataclasses import dataclass
from datetime import datetime

from service.errors import NotFound
from service.records.db import Reading, Writing
from service.records.tables import Client


@dataclass(frozen=True, slots=True)
class ClientFacts:
    """What is written down of a client."""

    name: str
    email: str
    phone: str
    address: str
    notes: str


def client_with(db: Reading | Writing, client_id: int) -> Client:
    """The client of that number, or a refusal."""
    client = db.get(Client, client_id)
    if client is None:
        raise NotFound("There is no such client.")
    return client


def add_client(db: Writing, facts: ClientFacts, at: datetime) -> Client:
    """Write a new client down."""
    client = Client(
        name=facts.name,
        email=facts.email,
        phone=facts.phone,
        address=facts.address,
        notes=facts.notes,
        created_at=at,
    )
    db.add(client)
    db.flush()
    return client


def change_client(db: Writing, client_id: int, facts: ClientFacts) -> None:
    """Correct what is written of a client."""
    client = client_with(db, client_id)
    client.name, client.email, client.phone = facts.name, facts.email, facts.phone
    client.address, client.notes = facts.address, facts.notes
    db.add(client)


def put_client_away(db: Writing, client_id: int, *, away: bool) -> None:
    """Take a client off the list, or put her back; her commissions stay."""
    client = client_with(db, client_id)
    client.put_away = away
    db.add(client)
