"""Two people changing one record: whoever keeps second is told, and nothing that she typed is lost.

A form for changing carries a mark of what it showed. If the record says something else by the time the form is kept,
it comes back once with what was typed and what stands there now, and with a new mark: kept again, it goes in.
"""

import hashlib
import json
from typing import TypeVar

from sqlmodel import SQLModel

from service.languages.spoken import said
from service.records.db import Writing
from service.web.changes_words import field_words
from service.web.forms import Form

FIELD = "as_seen"
Record = TypeVar("Record", bound=SQLModel)


def marked(shown: Form) -> Form:
    """A form for changing what it shows, with its mark."""
    shown.values[FIELD] = _mark(shown)
    return shown


def held(db: Writing, record: Record) -> Record:
    """The record as it is now, held so that of two who keep at the same instant one waits for the other."""
    db.refresh(record, with_for_update={"key_share": True})
    return record


def is_as_seen(form: Form, now: Form) -> bool:
    """Whether the record still says what this form was filled with; else the form says what it says now.

    >>> seen, now = marked(Form({"phone": "01"})), Form({"phone": "02"})
    >>> is_as_seen(seen, now), is_as_seen(seen, now)
    (False, True)
    """
    mark = _mark(now)
    if form.raw(FIELD) in {"", mark}:
        return True
    form.values[FIELD] = mark
    differing = [name for name, value in now.values.items() if form.raw(name) != value.strip()]
    typed = "; ".join(f"{field_words(name)}: {now.values[name] or said('nothing')}" for name in differing)
    form.fault(
        "",
        "Somebody changed this while you were writing, and nothing of yours was kept yet. Where it differs from yours "
        f"it now says: {typed}. Keep again to put yours in its place."
        if typed
        else "Somebody changed this while you were writing, and nothing of yours was kept yet. It now says what you "
        "typed. Keep it again, or leave it.",
    )
    return False


def _mark(shown: Form) -> str:
    values = {name: value for name, value in shown.values.items() if name != FIELD}
    return hashlib.sha256(json.dumps(values, sort_keys=True).encode()).hexdigest()[:16]
