"""The lines of a draft that the owner writes herself: changed, added from the shelf or freely, left out, taken in."""

from dataclasses import dataclass

from service.errors import NotFound
from service.records.db import Writing
from service.records.tables import Quote, QuoteLine
from service.records.tables.quotes import MATERIAL_KINDS
from service.studio.alterations import write_again
from service.studio.quote_materials import Figured, supply_line
from service.studio.quote_sums import line_of, lines_in
from service.studio.quotes import locked_draft
from service.studio.studio_settings import length_unit_of
from service.studio.supplies import supply_with

BY_HAND = "written by hand"


@dataclass(frozen=True, slots=True)
class FreeLine:
    """A line as the owner writes it."""

    words: str
    amount_minor: int


def add_line(db: Writing, quote_id: int, line: FreeLine) -> None:
    """Add a line of the owner's own."""
    quote = locked_draft(db, quote_id)
    _add(db, quote, Figured(_next_key(db, quote), "other", line.words, BY_HAND, line.amount_minor))


def add_supply_line(db: Writing, quote_id: int, supply_id: int, amount_thousandths: int) -> None:
    """Add so much of a supply at the shelf's price."""
    quote = locked_draft(db, quote_id)
    supply = supply_with(db, supply_id)
    _add(db, quote, supply_line(supply, amount_thousandths, _next_key(db, quote), length_unit_of(db)))


def change_line(db: Writing, quote_id: int, line_id: int, changed: FreeLine) -> None:
    """Write a line anew; its figure is the owner's from now on and stays when the draft is reckoned again."""
    quote = locked_draft(db, quote_id)
    line = _line(db, quote, line_id)
    if not line.by_hand and line.source:
        line.source = f"{BY_HAND}; it was {line.source}"[:1000]
    line.words, line.amount_minor, line.by_hand = changed.words, changed.amount_minor, True
    db.add(line)
    write_again(db, quote)


def leave_line_out(db: Writing, quote_id: int, line_id: int, *, out: bool) -> None:
    """Let a line count for nothing, or count again."""
    quote = locked_draft(db, quote_id)
    line = _line(db, quote, line_id)
    line.left_out = out
    db.add(line)
    write_again(db, quote)


def _add(db: Writing, quote: Quote, figured: Figured) -> None:
    assert quote.id is not None
    last = max((line.position for line in lines_in(db, quote.id) if line.kind in MATERIAL_KINDS), default=0)
    db.add(line_of(quote.id, last + 1, figured, by_hand=True))
    write_again(db, quote)


def _next_key(db: Writing, quote: Quote) -> str:
    assert quote.id is not None
    taken = {line.key for line in lines_in(db, quote.id)}
    return next(key for number in range(1, len(taken) + 2) if (key := f"hand:{number}") not in taken)


def _line(db: Writing, quote: Quote, line_id: int) -> QuoteLine:
    line = db.get(QuoteLine, line_id)
    if line is None or line.quote_id != quote.id or line.kind not in MATERIAL_KINDS:
        raise NotFound("There is no such line of materials in this quote.")
    return line
