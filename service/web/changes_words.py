"""What was changed, in words: the records, their parts and their fields as people call them."""

import json
from collections.abc import Callable, Iterable, Mapping

from service.languages.catalogues import messages_of
from service.languages.spoken import KEY, language_now
from service.records.queries.told import Change
from service.records.trail import ADDED, CHANGED, GONE, TAKEN_OUT, WRITTEN_DOWN
from service.web.history_words import told as of_the_work

KINDS: Mapping[str, str] = {
    "client": "client",
    "commission": "commission",
    "garment": "garment",
    "handover": "handover",
    "photo": "photo of",
    "quote": "quote for",
    "payment": "payment for",
    "cloth": "cloth",
    "supply": "supply",
    "design": "design",
    "stitcher": "stitcher",
    "stitcher_payment": "payment to",
    "account": "account of",
    "rate_guess": "guess for",
    "studio": "the studio itself",
}
CHOICES: Mapping[str, str] = {
    **{kind: f"{words.removesuffix(' of').removesuffix(' for').removesuffix(' to')}s" for kind, words in KINDS.items()},
    "cloth": "cloths",
    "supply": "supplies",
    "payment": "payments of clients",
    "stitcher_payment": "payments to stitchers",
    "rate_guess": "guessed times",
    "studio": "the studio itself",
}
"""What may be chosen on the page: one kind of record."""
ADDRESSES: Mapping[str, str] = {
    **{
        kind: f"/{kind}s/{{}}" for kind in ("client", "commission", "garment", "handover", "photo", "quote", "stitcher")
    },
    "cloth": "/cloth/{}",
    "supply": "/supplies/{}",
    "design": "/designs/{}",
    "account": "/settings/accounts/{}",
}
PARTS: Mapping[str, str] = {
    "child_measure": "a measure of the child",
    "share_link": "a link to the client’s window",
    "client_wish": "something wanted of the client",
    "cloth_reading": "a count of threads",
    "cloth_swatch": "a washed swatch",
    "cloth_use": "a length that came or went",
    "cloth_fibre": "a fibre",
    "supply_use": "an amount that came or went",
    "panel": "a panel",
    "section": "a section",
    "step": "a step",
    "finishing_check": "a line of the finishing list",
    "risk_considered": "a risk considered",
    "broken_sharp": "a broken needle or pin",
    "thread_used": "thread used",
    "kept_result": "an answer of the reckoner",
    "planned_hands": "hands planned",
    "handover_panel": "a panel handed over",
    "handover_place": "where a section stopped",
    "handover_material": "something that travels with it",
    "quote_line": "a line",
    "quote_garment": "a garment’s share",
    "quote_work": "work altered",
    "quote_instalment": "an instalment",
    "stitcher_away": "days away",
    "extra_minutes": "more minutes for a while",
    "earlier_pay": "earlier pay",
    "calendar_link": "a link to the calendar",
    "access_token": "a token for a script",
    "second_step": "a second step",
    "recovery_code": "recovery codes",
    "way_in": "a link to set a password",
    "erasure": "an erasure",
    "charges": "what the studio charges",
    "charges_instalment": "how a price is paid",
    "maker": "the maker",
    "message_words": "words to clients",
    "keeping": "how long data is kept",
}
FIELDS: Mapping[str, str] = {
    "born_is_due": "whether the birth is still to come",
    "for_client": "whether the client may see it",
    "sealed_sha256": "its seal",
    "price_minor_per_m": "price by length",
    "document": "the whole of it",
    "key": "its name in files",
}
UNITS = frozenset({"um", "minor", "bp", "tenths", "hundredths", "thousandths", "sha256", "id", "hash", "ms", "mg"})
CLIENT_DID = frozenset({"client answered", "window first opened", "quote accepted", "alteration accepted"})


def field_words(name: str) -> str:
    """A field, a field of a part, or a part, as people call it.

    >>> field_words("price_minor_per_m"), field_words("step.note"), field_words("child_measure added")
    ('price by length', 'a step: note', 'a measure of the child added')
    """
    for end in (ADDED, GONE):
        if name.endswith(end):
            table = name.removesuffix(end)
            return f"{PARTS.get(table, table.replace('_', ' '))}{end}"
    table, dot, field = name.rpartition(".")
    words = _said(FIELDS.get(field) or _column_words(field))
    return f"{PARTS.get(table, table)}: {words}" if dot else words


def columns_words(names: Iterable[str]) -> list[str]:
    """The words of columns that have none of their own here, each once, as they are to be translated."""
    return sorted({_column_words(name) for name in names if name not in FIELDS})


def _column_words(field: str) -> str:
    return " ".join(word for word in field.split("_") if word not in UNITS) or field


def _said(words: str) -> str:
    """The words of a column in the language of now: looked up among names alone, so that nothing typed is one."""
    language = language_now()
    return words if language == KEY else messages_of(language).get(words, words)


def change_words(change: Change) -> str:
    """What was done, in words; of records without words of their own the names of the fields, never what they say."""
    what = change.what
    if what.action == CHANGED:
        return f"changed: {_fields(what.after.split(', '))}" if what.after else "changed"
    if what.action in {WRITTEN_DOWN, TAKEN_OUT}:
        further = [name for name in what.after.split(", ") if name]
        return f"{what.action}, with {_fields(further)}" if further else what.action
    if what.action in _WORDS:
        return _WORDS[what.action](change)
    return of_the_work(what)


def who_words(change: Change) -> str:
    """Who did it: somebody with an account, the client in her window, or a command, which has none."""
    return change.what.who or ("the client" if change.what.action in CLIENT_DID else "without an account")


def href(change: Change) -> str:
    """Where the record stands; nothing for one without a page of its own."""
    return ADDRESSES[change.kind].format(change.number) if change.kind in ADDRESSES else ""


def _fields(names: list[str]) -> str:
    return "; ".join(dict.fromkeys(field_words(name) for name in names))


def _corrected(change: Change) -> str:
    try:
        names = list(json.loads(change.what.after))
    except ValueError:
        names = []
    return f"corrected: {_fields(names)}" if names else "corrected"


_WORDS: Mapping[str, Callable[[Change], str]] = {
    "cloth corrected": _corrected,
    "change_design": lambda _: "changed",
    "charges changed": lambda _: "what it charges was changed",
    "client answered": lambda _: "answered in her window",
    "window first opened": lambda _: "opened her window for the first time",
    "window link made": lambda _: "a link to the client’s window made",
    "window link ended": lambda _: "a link to the client’s window ended",
}
