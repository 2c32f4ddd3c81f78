"""Messages to a client as drafted texts, in the owner's words; nothing is sent from here."""

from collections.abc import Mapping
from dataclasses import dataclass

from sqlmodel import select

from service.errors import NotFound, Unreadable
from service.records.db import Reading, Writing
from service.records.tables import MessageWords
from service.records.tables.window import MESSAGE_KINDS

PLACES = ("client", "commission", "day", "sum", "link", "studio")


@dataclass(frozen=True, slots=True)
class Words:
    """The subject and body of a kind of message; words in braces are filled in."""

    subject: str
    body: str


STARTING: Mapping[str, Words] = {
    "quote": Words(
        "Your quote: {commission}",
        "Dear {client},\n\nthe quote for {commission}, wanted on {day}, is ready. You can read it and accept it here:\n"
        "{link}\n\nWith kind regards,\n{studio}",
    ),
    "progress": Words(
        "How it stands: {commission}",
        "Dear {client},\n\nthe work goes on. This is where it stands:\n{link}\n\nWith kind regards,\n{studio}",
    ),
    "measurement": Words(
        "A measurement, please: {commission}",
        "Dear {client},\n\nthe day, {day}, comes nearer. May we ask you for a measurement? What and how is written "
        "here:\n{link}\n\nWith kind regards,\n{studio}",
    ),
    "fitting": Words(
        "A fitting: {commission}",
        "Dear {client},\n\nwe should like to see the piece on before {day}. Please tell us here when it suits you:\n"
        "{link}\n\nWith kind regards,\n{studio}",
    ),
    "instalment": Words(
        "A part of the price is due: {commission}",
        "Dear {client},\n\n{sum} of the agreed price is open. What was paid and what is due when stands here:\n{link}"
        "\n\nWith kind regards,\n{studio}",
    ),
    "ready": Words(
        "It is ready: {commission}",
        "Dear {client},\n\nwhat you asked for is ready. How to care for it is written here:\n{link}\n\n"
        "With kind regards,\n{studio}",
    ),
}


def words_of(db: Reading | Writing, kind: str) -> Words:
    """The owner's words of a kind of message, or those to begin with."""
    if kind not in MESSAGE_KINDS:
        raise NotFound("There is no such kind of message.")
    own = db.exec(select(MessageWords).where(MessageWords.kind == kind)).first()
    return STARTING[kind] if own is None else Words(own.subject, own.body)


def change_words(db: Writing, kind: str, words: Words) -> None:
    """Keep the owner's own words; the body says where the link stands."""
    words_of(db, kind)
    if "{link}" not in words.body:
        raise Unreadable({"body": "Write {link} where the link to the window is to stand."})
    if "\n" in words.subject or "\r" in words.subject:
        raise Unreadable({"subject": "Keep the subject to one line."})
    own = db.exec(select(MessageWords).where(MessageWords.kind == kind)).first() or MessageWords(
        kind=kind, subject="-", body="-"
    )
    own.subject, own.body = words.subject, words.body
    db.add(own)
    db.flush()


def filled(words: Words, said: Mapping[str, str]) -> Words:
    r"""The message with its places filled in; a subject never holds a line break.

    >>> filled(Words("{commission}", "Dear {client}"), {"client": "Ada", "commission": "A cap\nBcc: x"})
    Words(subject='A cap Bcc: x', body='Dear Ada')
    """
    subject, body = words.subject, words.body
    for place in PLACES:
        value = said.get(place, "")
        subject, body = subject.replace(f"{{{place}}}", value), body.replace(f"{{{place}}}", value)
    return Words(" ".join(subject.split()), body)
