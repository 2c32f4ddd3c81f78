"""What delivered garments took against what was quoted: hours, and what the hours come to at the quoted rates."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import aliased
from sqlmodel import col
from sqlmodel import select as entities

from service.reckoning.money import half_up
from service.records.db import Reading, Writing
from service.records.tables import Garment, Quote, QuoteGarment, Tally
from service.studio.quote_sums import lines_in, materials_in
from service.studio.quotes import accepted_of

MS_PER_HOUR = 3_600_000
MS_PER_SECOND = 1000


@dataclass(frozen=True, slots=True)
class Compared:
    """One delivered garment: its hours as quoted, alterations with it, and as logged since; both at quoted rates."""

    garment_id: int
    name: str
    quoted_ms: int
    worked_ms: int
    quoted_minor: int
    worked_minor: int
    untimed: int

    @property
    def over_ms(self) -> int:
        """How much longer it took; shorter, below nothing."""
        return self.worked_ms - self.quoted_ms


@dataclass(frozen=True, slots=True)
class AsQuoted:
    """The delivered garments of a commission, and what an hour earned once all are delivered."""

    garments: tuple[Compared, ...]
    earned_an_hour_minor: int | None


def as_quoted(db: Reading | Writing, commission_id: int) -> AsQuoted | None:
    """What the delivered garments of an agreed commission took; None while nothing is agreed or delivered."""
    quote = accepted_of(db, commission_id)
    if quote is None:
        return None
    rows = _delivered(db, commission_id)
    logged = _logged(db, [row.id for row in rows], quote.reckoned_at)
    an_hour = quote.hour_rate_minor + quote.overhead_minor_per_hour
    found = []
    for row in rows:
        seconds, untimed = logged.get(row.id, (0, 0))
        worked_ms = seconds * MS_PER_SECOND
        quoted, worked = (half_up(Fraction(int(ms) * an_hour, MS_PER_HOUR)) for ms in (row.quoted_ms, worked_ms))
        found.append(Compared(row.id, row.name, int(row.quoted_ms), worked_ms, quoted, worked, untimed))
    return AsQuoted(tuple(found), _earned(db, commission_id, found)) if found else None


def _delivered(db: Reading | Writing, commission_id: int) -> Sequence[Any]:
    """The delivered garments that were quoted for, with the hours quoted for each in all."""
    found = (
        select(col(Garment.id), col(Garment.name), func.sum(QuoteGarment.quoted_ms).label("quoted_ms"))
        .join(QuoteGarment, col(QuoteGarment.garment_id) == Garment.id)
        .join(Quote, col(Quote.id) == QuoteGarment.quote_id)
        .where(
            col(Quote.commission_id) == commission_id, col(Quote.state) == "accepted", col(Garment.state) == "delivered"
        )
        .group_by(col(Garment.id), col(Garment.name))
        .order_by(col(Garment.id))
    )
    return list(db.execute(found))


def _logged(db: Reading | Writing, garment_ids: Sequence[int], since: datetime) -> dict[int, tuple[int, int]]:
    """Seconds logged on each garment since, what was taken back left out, and how many entries have no time."""
    counter = aliased(Tally)
    taken_back = select(col(counter.id)).where(col(counter.counters_id) == col(Tally.id)).exists()
    found = (
        select(
            col(Tally.garment_id),
            func.coalesce(func.sum(Tally.seconds), 0),
            func.count() - func.count(col(Tally.seconds)),
        )
        .where(
            col(Tally.garment_id).in_(garment_ids),
            col(Tally.kind).in_(("work", "unpick")),
            col(Tally.at) >= since,
            ~taken_back,
        )
        .group_by(col(Tally.garment_id))
    )
    return {number: (int(seconds), int(untimed)) for number, seconds, untimed in db.execute(found)}


def _earned(db: Reading | Writing, commission_id: int, found: Sequence[Compared]) -> int | None:
    """What an hour earned: prices less materials over the hours worked, once all that was quoted for is delivered."""
    accepted = list(db.exec(entities(Quote).where(Quote.commission_id == commission_id, Quote.state == "accepted")))
    price = sum(quote.price_minor - materials_in(lines_in(db, quote.id or 0)) for quote in accepted)
    numbers = entities(QuoteGarment.garment_id).where(col(QuoteGarment.quote_id).in_([quote.id for quote in accepted]))
    many = len(set(db.exec(numbers)))
    worked_ms = sum(one.worked_ms for one in found)
    if many != len(found) or not worked_ms:
        return None
    return half_up(Fraction(price * MS_PER_HOUR, worked_ms))
