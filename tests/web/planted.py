"""Words that nobody can mistake, planted wherever something is the owner's alone, and who may never be told them."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime

from sqlalchemy import text
from sqlmodel import select

from service.records.db import Writing
from service.records.tables import Account, Client, Commission, Event, Stitcher
from service.studio.demo import DEMO_EMAILS
from tests.web.asking import Answer

PLANTED: dict[str, tuple[str, ...]] = {
    "client": ("email", "phone", "address", "notes"),
    "commission": ("notes",),
    "quote": ("includes", "leaves_out", "note", "accepted_name", "taken_back_reason"),
    "quote_line": ("words", "source"),
    "payment": ("how", "note"),
    "charges": ("tax_name", "includes", "leaves_out"),
    "message_words": ("subject", "body"),
    "share_link": ("label",),
    "client_wish": ("words",),
    "supply": ("notes",),
    "stitcher": ("notes",),
    "stitcher_away": ("note",),
    "stitcher_payment": ("note",),
}
"""Columns of text that no stitcher is told."""
OF_THE_QUOTE = ("quote", "quote_line", "payment", "client_wish")  # what her own window tells the client
OF_A_STITCHER = ("stitcher_away", "stitcher_payment")  # what is hers she reads, and nobody else
PRICES = {
    "cloth": "price_minor_per_m",
    "supply": "price_minor",
    "charges": "hour_rate_minor",
    "stitcher": "pay_minor_per_hour",
}
PAY = 73_911_00  # and a number more for each stitcher
MONEY = ("£", "&pound;", "GBP", "_minor", "73,911", "73911")
"""What no stitcher is told, but on the page that says what she herself is paid."""
HER_OWN = ("/stitchers/me", "/account")


@dataclass(frozen=True, slots=True)
class Secrets:
    """Words with the table they lie in, names that are not the client's own, and everybody's address and number."""

    planted: dict[str, str]
    names: tuple[str, ...]
    of_people: dict[str, tuple[str, int]]


def plant(db: Writing) -> Secrets:
    """Write the words into every row of the owner's own, and a price into every price."""
    here, planted = db.connection(), dict[str, str]()
    for table, columns in PLANTED.items():
        for column in columns:
            word = f"zq{table}{column}".replace("_", "")
            planted[word] = table
            whose = "stitcher_id" if table in OF_A_STITCHER else "0"
            filled = f"case when \"{column}\" = '' and '{table}' = 'quote' then '' else '{word}' || {whose} end"
            here.execute(text(f'update {table} set "{column}" = {filled}'))
    for table, column in PRICES.items():
        here.execute(text(f"update {table} set {column} = {PAY} + id"))
    db.expire_all()
    _note_what_the_owner_did(db)
    planted["zqeventreason"] = "event"
    return Secrets(planted, *_people(db))


def _note_what_the_owner_did(db: Writing) -> None:
    """Events of the owner's own, on the piece that a stitcher has in her hands."""
    number, commission_id = db.connection().execute(text("select id, commission_id from garment where id = 9")).one()
    now = datetime.now(UTC)
    for action, kind, of in (
        ("photo shown to the client", "photo", 8),
        ("moved", "commission", commission_id),
        ("quote sent", "quote", 7),
    ):
        event = Event(at=now, account_id=1, garment_id=number, action=action, object_kind=kind, object_id=of)
        event.reason = event.before = event.after = "zqeventreason"
        db.add(event)


def _people(db: Writing) -> tuple[tuple[str, ...], dict[str, tuple[str, int]]]:
    names = tuple(db.exec(select(Stitcher.name)))
    hers = db.exec(select(Commission).where(Commission.title == "Christening of Ivy")).one()
    others = tuple(db.exec(select(Client.name).where(Client.id != hers.client_id)))
    accounts = db.exec(select(Account.email, Account.stitcher_id)).all()
    who = {DEMO_EMAILS["edda"]: "owner", DEMO_EMAILS["tilly"]: "holder", DEMO_EMAILS["oriel"]: "other"}
    return (*names, *others), {who[email]: (email, number or 0) for email, number in accounts}


def leaks(answer: Answer, secrets: Secrets) -> list[str]:
    """The words in an answer that whoever asked may not be told."""
    forbidden = tuple(_forbidden(answer, secrets))
    words = answer.words if forbidden else ""
    where = f"{answer.method} {answer.address}"
    return [f"{answer.who} reads {word!r} at {where}" for word in forbidden if word in words]


def _forbidden(answer: Answer, secrets: Secrets) -> Iterator[str]:
    if answer.who == "owner":
        return
    hers = answer.who if answer.path.startswith(HER_OWN) else ""
    if answer.path.startswith("/come-in/"):  # whoever has that link is taken for whom it was made
        hers = "holder"
    for who, (email, stitcher_id) in secrets.of_people.items():
        if who != hers:
            yield f"73,911.{stitcher_id:02}"
            yield from (f"zq{table.replace('_', '')}note{stitcher_id}" for table in OF_A_STITCHER)
            if answer.path != "/openapi.json":
                yield email
    if answer.who == "client":
        yield from (*secrets.names, "73,911", "73911")
        yield from (word for word, table in secrets.planted.items() if table not in OF_THE_QUOTE)
    else:
        yield from (word for word, table in secrets.planted.items() if table not in OF_A_STITCHER)
        yield from () if answer.path.startswith(HER_OWN) else MONEY
