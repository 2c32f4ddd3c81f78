"""Words that would be run if a page took them for its own, written into every text that somebody may type."""

import re
from collections.abc import Iterator
from itertools import cycle

from sqlalchemy import Column, String, Table, Text, text
from sqlmodel import SQLModel
from sqlmodel.sql.sqltypes import AutoString

from service.records.db import Writing

HOSTILE = (
    "<img src=x onerror=alert(1)>",
    "\"'><script>alert(2)</script>",
    "</title></textarea><svg onload=alert(3)>",
    "' onfocus=alert(4) autofocus='",
    "{{ 7 * 7 }} ${7*7} <!-- javascript:alert(5)",
)
MARK = HOSTILE[0]
READ_BY_THE_SERVICE = {
    "account": {"email", "password_hash"},
    "design": {"document", "key"},
    "event": {"before", "after"},
    "garment": {"document", "size"},
    "kept_result": {"asked", "answer", "route"},
    "panel": {"key", "outline", "cloth_role"},
    "section": {"key", "bundle_sizes", "places", "mirror_of"},
    "studio": {"time_zone", "currency"},
    "thread_used": {"thread"},
}
"""Text in a form of its own, never typed as words."""
NEVER_TYPED = re.compile(r"sha256|secret|^key$|^currency$|operation|^unit$|^mime$|^what$|_way$|^salt$")
NAMES_IN_DESIGNS = re.compile(r'(?m)^(name|thread) = ".*"$')


def make_hostile(db: Writing) -> int:
    """Write them in place of all that is said; gives how many columns were written to."""
    here, words, written = db.connection(), cycle(HOSTILE), 0
    here.execute(text("drop trigger event_not_altered"))
    for table in SQLModel.metadata.sorted_tables:
        for column in _typed(table):
            said = next(words)
            filled = f"case when \"{column.name}\" = '' then '' else :said{' || id' if column.unique else ''} end"
            here.execute(text(f'update "{table.name}" set "{column.name}" = {filled}'), {"said": said})
            written += 1
    for table_name in ("design", "garment"):
        for number, document in here.execute(text(f"select id, document from {table_name}")).all():
            named = NAMES_IN_DESIGNS.sub(lambda found: f'{found[1]} = "{MARK}"', document)
            changed = text(f"update {table_name} set document = :named where id = :number")
            here.execute(changed, {"named": named, "number": number})
    db.expire_all()
    return written


def _typed(table: Table) -> Iterator[Column[str]]:
    closed = " ".join(str(check.name) for check in table.constraints)
    for column in table.columns:
        is_text = isinstance(column.type, String | Text | AutoString) and not NEVER_TYPED.search(column.name)
        is_ours = column.name in READ_BY_THE_SERVICE.get(table.name, ())
        if is_text and not is_ours and f"_{column.name}_word" not in closed and not column.foreign_keys:
            yield column
