"""Whatever holds the words that somebody looks for, group by group. A stitcher finds only what she may see."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, false, or_, select
from sqlmodel import col

from service.records.db import Reading
from service.records.folding import holding
from service.records.queries.standing import OPEN, OVER, Wanted, is_named, is_wanted
from service.records.tables import Client, Cloth, Commission, Design, Garment, Quote, Section, Stitcher, Supply

MOST = 20
AS_PRINTED = re.compile(r"(?:(?:no|nr)\b\.?|№|#)?\s*([0-9]{1,9})", re.IGNORECASE)
EVERY_STATE = (*OPEN, *OVER)


@dataclass(frozen=True, slots=True)
class Found:
    """One record: its kind, its number, what it is called and a few words about it; `part_of` names the whole of it."""

    kind: str
    id: int
    name: str
    about: str = ""
    part_of: str = ""


@dataclass(frozen=True, slots=True)
class Seeker:
    """Who looks: the owner finds everything, a stitcher what is in her hands or offered to them, and the shelf."""

    is_owner: bool
    stitcher_id: int


def found_by(db: Reading, words: str, seeker: Seeker) -> dict[str, list[Found]]:
    """What holds these words, or has this number, by kind; at most twenty of each and one more."""
    if not words.strip():
        return {}
    seeks = _OF_THE_OWNER if seeker.is_owner else _OF_A_STITCHER
    found = {kind: seek(db, words, seeker) for kind, seek in seeks.items()}
    return {kind: lines for kind, lines in found.items() if lines}


def _numbered(words: str, number: Any) -> ColumnElement[bool]:
    """Whether the record has the number that was typed, alone or as papers print it."""
    typed = AS_PRINTED.fullmatch(words.strip())
    return number == int(typed[1]) if typed else false()


def _garments(db: Reading, words: str, seeker: Seeker) -> list[Found]:
    seen = Wanted(EVERY_STATE, seen_by=None if seeker.is_owner else seeker.stitcher_id)
    number = col(Garment.id)
    rows = db.execute(
        select(number, col(Garment.name), col(Garment.size), col(Garment.state), col(Commission.title))
        .join(Commission, col(Commission.id) == Garment.commission_id)
        .where(or_(_numbered(words, number), is_named(words, clients=seeker.is_owner)), *is_wanted(seen))
        .order_by(number.desc())
        .limit(MOST + 1)
    )
    return [Found("garments", row.id, row.name, row.size, row.title if seeker.is_owner else row.state) for row in rows]


def _sections(db: Reading, words: str, seeker: Seeker) -> list[Found]:
    seen = Wanted(seen_by=None if seeker.is_owner else seeker.stitcher_id)
    rows = db.execute(
        select(col(Section.garment_id), col(Section.name), col(Garment.name).label("garment"))
        .join(Garment, col(Garment.id) == Section.garment_id)
        .where(*is_wanted(seen), holding(words, Section.name, Section.notes))
        .order_by(col(Section.garment_id).desc(), col(Section.position))
        .limit(MOST + 1)
    )
    return [Found("sections", row.garment_id, row.name, "", row.garment) for row in rows]


def _commissions(db: Reading, words: str, _seeker: Seeker) -> list[Found]:
    number = col(Commission.id)
    named = holding(words, Commission.title, Commission.occasion, Commission.notes, Client.name)
    rows = db.execute(
        select(number, col(Commission.title), col(Commission.state), col(Client.name))
        .join(Client, col(Client.id) == Commission.client_id)
        .where(or_(_numbered(words, number), named))
        .order_by(col(Commission.wanted_on).desc(), number)
        .limit(MOST + 1)
    )
    return [Found("commissions", row.id, row.title, row.state, row.name) for row in rows]


def _quotes(db: Reading, words: str, _seeker: Seeker) -> list[Found]:
    number = col(Quote.id)
    rows = db.execute(
        select(number, col(Quote.kind), col(Quote.version), col(Quote.state), col(Commission.title))
        .join(Commission, col(Commission.id) == Quote.commission_id)
        .join(Client, col(Client.id) == Commission.client_id)
        .where(or_(_numbered(words, number), holding(words, Commission.title, Client.name)))
        .order_by(number.desc())
        .limit(MOST + 1)
    )
    return [
        Found("quotes", row.id, f"{row.kind.capitalize()}, version {row.version}", row.state, row.title) for row in rows
    ]


def _plainly(kind: str, table: Any, about: str, *columns: Any) -> Callable[[Reading, str, Seeker], list[Found]]:
    def seek(db: Reading, words: str, _seeker: Seeker) -> list[Found]:
        number, name, words_about = col(table.id), col(table.name), col(getattr(table, about))
        rows = db.execute(
            select(number, name, words_about)
            .where(or_(_numbered(words, number), holding(words, *columns)))
            .order_by(name, number)
            .limit(MOST + 1)
        )
        return [Found(kind, *row) for row in rows]

    return seek


_DESIGNS = _plainly("designs", Design, "state", Design.name)
_CLOTHS = _plainly("cloths", Cloth, "fibre", Cloth.name, Cloth.fibre, Cloth.notes)
_OF_A_STITCHER = {"garments": _garments, "sections": _sections, "designs": _DESIGNS, "cloths": _CLOTHS}
_OF_THE_OWNER = {
    "garments": _garments,
    "commissions": _commissions,
    "clients": _plainly("clients", Client, "email", Client.name, Client.email, Client.phone, Client.notes),
    "quotes": _quotes,
    "sections": _sections,
    "designs": _DESIGNS,
    "cloths": _CLOTHS,
    "supplies": _plainly("supplies", Supply, "kind", Supply.name, Supply.notes),
    "stitchers": _plainly("stitchers", Stitcher, "notes", Stitcher.name),
}
