"""Handovers as pages list them: what is offered to whom, who held what and when, and which counts are still open."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache
from typing import Any

from sqlalchemy import ColumnElement, bindparam, or_, select, union_all
from sqlalchemy.orm import aliased
from sqlmodel import col

from service.records.db import Reading, Writing
from service.records.queries.needles import needles_and_pins
from service.records.tables import (
    Account,
    BrokenSharp,
    Garment,
    Handover,
    HandoverPanel,
    Panel,
    Stitcher,
)
from service.records.unchanged import while_unchanged

NEWEST = 30


@dataclass(frozen=True, slots=True)
class HandoverRow:
    """One handover with its names; an empty name is the shelf. `parts` are its panels; `as_one` the joined garment."""

    id: int
    garment_id: int
    garment: str
    wanted_on: date
    state: str
    as_one: bool
    to_id: int | None
    to: str
    offered_by: str
    offered_at: datetime
    ended_by: str
    ended_at: datetime | None
    needles_out: int
    pins_out: int
    needles_missing: int
    pins_missing: int
    notes: str
    reason: str
    parts: tuple[str, ...] = ()
    panel_ids: tuple[int, ...] = ()
    givers: tuple[str, ...] = ()
    giver_ids: tuple[int | None, ...] = ()

    @property
    def is_short(self) -> bool:
        """Whether needles or pins are missing still."""
        return bool(self.needles_missing or self.pins_missing)


@dataclass(frozen=True, slots=True)
class OpenCount:
    """What keeps a garment from being finished: needles and pins missing since a handover, broken and not found, or,
    with neither number, missing since a sitting.
    """

    words: str
    handover_id: int | None = None
    broken_id: int | None = None


@while_unchanged
def not_settled(db: Reading | Writing, stitcher_id: int | None) -> list[HandoverRow]:
    """Handovers offered and not answered, or with needles or pins missing: all, or those to or from that stitcher."""
    offered = select(col(Handover.id)).where(col(Handover.state) == "offered")
    short = select(col(Handover.id)).where(_is_short())
    where: list[ColumnElement[bool]] = [col(Handover.id).in_(union_all(offered, short))]  # an index each
    if stitcher_id is not None:
        held = select(col(HandoverPanel.handover_id)).where(col(HandoverPanel.from_id) == stitcher_id)
        where.append(or_(col(Handover.to_id) == stitcher_id, col(Handover.id).in_(held)))
    return _rows(db, _listed().where(*where).order_by(col(Handover.id)))


def handovers_of(db: Reading | Writing, garment_id: int) -> list[HandoverRow]:
    """The handovers of a garment, the newest first."""
    return _rows(db, _of_garment(), garment_id=garment_id)


def offers_of(db: Reading | Writing, garment_id: int) -> list[HandoverRow]:
    """What of a garment is offered and not taken, the newest first."""
    return _rows(db, _all_of_garment().where(col(Handover.state) == "offered"), garment_id=garment_id)


def handover_row(db: Reading | Writing, handover_id: int) -> HandoverRow | None:
    """One handover with its names."""
    found = _rows(db, _listed().where(col(Handover.id) == handover_id))
    return found[0] if found else None


def garments_offered_to(stitcher_id: int) -> Any:
    """The numbers of the garments of which something is offered to that stitcher, as a query to look in."""
    return select(col(Handover.garment_id)).where(col(Handover.state) == "offered", col(Handover.to_id) == stitcher_id)


def panels_offered(db: Reading | Writing, garment_id: int) -> dict[int, str]:
    """Panels of a garment that are offered, each with the name of whom to; the shelf is an empty name."""
    found = (
        select(col(HandoverPanel.panel_id), col(Stitcher.name))
        .join(Handover, col(HandoverPanel.handover_id) == Handover.id)
        .outerjoin(Stitcher, col(Handover.to_id) == Stitcher.id)
        .where(col(Handover.garment_id) == garment_id, col(HandoverPanel.is_open))
    )
    return {row.panel_id: row.name or "" for row in db.execute(found)}


def open_counts(db: Reading | Writing, garment_id: int) -> list[OpenCount]:
    """Every needle and pin of a garment that is not accounted for."""
    short = _rows(db, _short_of_garment(), garment_id=garment_id)
    return counts_told(short, sharps_of(db, garment_id))


def counts_told(rows: Iterable[HandoverRow], sharps: Sequence[Any]) -> list[OpenCount]:
    """What is not accounted for of these handovers, the newest first, and of these broken sharps, the oldest first."""
    told = [OpenCount(_missing(row), handover_id=row.id) for row in rows if row.is_short]
    broken = [row.BrokenSharp for row in reversed(sharps) if row.BrokenSharp.found_at is None]
    return told + [
        OpenCount(f"A {each.kind} broke or was lost, and not all of it is found.", broken_id=each.id) for each in broken
    ]


def sharps_of(db: Reading | Writing, garment_id: int) -> Sequence[Any]:
    """Every needle and pin that broke at a garment, the newest first, with who told of it and who saw it found."""
    return db.execute(_sharps(), {"garment_id": garment_id}).all()


# What pages ask again and again is put together once: that takes longer than the answer.
@cache
def _sharps() -> Any:
    teller, finder = aliased(Account), aliased(Account)
    found: Any = (
        select(BrokenSharp, col(teller.name).label("told"), col(finder.name).label("found"))
        .join(teller, col(BrokenSharp.told_by) == teller.id)
        .outerjoin(finder, col(BrokenSharp.found_by) == finder.id)
        .where(col(BrokenSharp.garment_id) == bindparam("garment_id"))
        .order_by(col(BrokenSharp.id).desc())
    )
    return found


def missing_words(needles: int, pins: int) -> str:
    """So many needles and pins, in words.

    >>> missing_words(1, 2), missing_words(0, 1)
    ('1 needle and 2 pins', '1 pin')
    """
    return needles_and_pins(needles, pins) or "nothing"


def _missing(row: HandoverRow) -> str:
    are = "is" if row.needles_missing + row.pins_missing == 1 else "are"
    missing = missing_words(row.needles_missing, row.pins_missing)
    return f"{missing} {are} missing since {row.to or 'the shelf'} took it."


def _is_short() -> ColumnElement[bool]:
    return or_(
        col(Handover.needles_out) > col(Handover.needles_in) + col(Handover.needles_found),
        col(Handover.pins_out) > col(Handover.pins_in) + col(Handover.pins_found),
    )


@cache
def _of_garment() -> Any:
    return _all_of_garment().limit(NEWEST)


@cache
def _short_of_garment() -> Any:
    return _all_of_garment().where(_is_short())


def _all_of_garment() -> Any:
    its_own = col(Handover.garment_id) == bindparam("garment_id")
    return _listed().where(its_own).order_by(col(Handover.id).desc())


@cache
def _listed() -> Any:
    giver, ender = aliased(Account), aliased(Account)
    found: Any = (
        select(
            Handover,
            col(Garment.name).label("garment"),
            col(Garment.wanted_on),
            col(Stitcher.name).label("to"),
            col(giver.name).label("offered_by"),
            col(ender.name).label("ended_by"),
        )
        .join(Garment, col(Handover.garment_id) == Garment.id)
        .outerjoin(Stitcher, col(Handover.to_id) == Stitcher.id)
        .join(giver, col(Handover.offered_by) == giver.id)
        .outerjoin(ender, col(Handover.ended_by) == ender.id)
    )
    return found


def _rows(db: Reading | Writing, found: Any, **asked: int) -> list[HandoverRow]:
    rows = db.execute(found, asked).all()
    parts = _parts(db, [row.Handover.id for row in rows]) if rows else {}
    return [_row(row, parts.get(row.Handover.id, [])) for row in rows]


def _parts(db: Reading | Writing, handover_ids: list[int]) -> dict[int, list[Any]]:
    found: Any = (
        select(
            col(HandoverPanel.handover_id),
            col(Panel.id),
            col(Panel.name).label("panel"),
            col(HandoverPanel.from_id),
            col(Stitcher.name).label("giver"),
        )
        .join(Panel, col(HandoverPanel.panel_id) == Panel.id)
        .outerjoin(Stitcher, col(HandoverPanel.from_id) == Stitcher.id)
        .where(col(HandoverPanel.handover_id).in_(handover_ids))
        .order_by(col(HandoverPanel.handover_id), col(Panel.position))
    )
    parts: dict[int, list[Any]] = {}
    for row in db.execute(found):
        parts.setdefault(row.handover_id, []).append(row)
    return parts


def _row(row: Any, parts: list[Any]) -> HandoverRow:
    handover: Handover = row.Handover
    assert handover.id is not None
    taken = handover.needles_in is not None and handover.pins_in is not None
    return HandoverRow(
        id=handover.id,
        garment_id=handover.garment_id,
        garment=row.garment,
        wanted_on=row.wanted_on,
        state=handover.state,
        as_one=handover.as_one,
        to_id=handover.to_id,
        to=row.to or "",
        offered_by=row.offered_by,
        offered_at=handover.offered_at,
        ended_by=row.ended_by or "",
        ended_at=handover.ended_at,
        needles_out=handover.needles_out,
        pins_out=handover.pins_out,
        needles_missing=handover.needles_out - (handover.needles_in or 0) - handover.needles_found if taken else 0,
        pins_missing=handover.pins_out - (handover.pins_in or 0) - handover.pins_found if taken else 0,
        notes=handover.notes,
        reason=handover.reason,
        parts=tuple(part.panel for part in parts),
        panel_ids=tuple(part.id for part in parts),
        givers=tuple(dict.fromkeys(part.giver or "" for part in parts)),
        giver_ids=tuple(dict.fromkeys(part.from_id for part in parts)),
    )
