"""Designs as the list shows them: by name."""

from sqlalchemy import func
from sqlmodel import col, select

from service.records.db import Reading
from service.records.folding import holding
from service.records.tables import Design

PAGE = 50


def designs_by_name(db: Reading, words: str, state: str, after: int | None = None) -> list[Design]:
    """Designs of that state whose name holds these words, beyond the one of number `after`; one more than a page."""
    name, number = func.lower(Design.name), col(Design.id)
    found = select(Design).where(Design.state == state)
    if words.strip():
        found = found.where(holding(words, Design.name))
    last = None if after is None else db.get(Design, after)
    if last is not None:
        last_name = select(func.lower(Design.name)).where(number == last.id).scalar_subquery()
        found = found.where((name > last_name) | ((name == last_name) & (number > last.id)))
    return list(db.exec(found.order_by(name, number).limit(PAGE + 1)))
