"""What is owed for commissions: what was agreed less what was paid, part by part, and what of it is due."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from sqlmodel import col, func, select

from service.records.db import Reading, Writing
from service.records.tables import Garment, Payment, Quote, QuoteInstalment, Studio
from service.records.unchanged import while_unchanged


@dataclass(frozen=True, slots=True)
class Due:
    """One part of what was agreed: when it is due (no day: not known yet), and what of it is still open."""

    kind: str
    version: int
    due: str
    on: date | None
    amount_minor: int
    open_minor: int

    def is_due(self, today: date) -> bool:
        """Whether the client should have paid it by now."""
        return self.open_minor > 0 and self.on is not None and self.on <= today

    def is_overdue(self, today: date) -> bool:
        """Whether its day is over."""
        return self.is_due(today) and self.on != today


@dataclass(frozen=True, slots=True)
class Owed:
    """The money of one commission, in minor units. `owed_minor` below nothing is to be given back."""

    currency: str
    agreed_minor: int
    paid_minor: int
    dues: tuple[Due, ...]
    ahead_minor: int

    @property
    def owed_minor(self) -> int:
        """What is still to be paid in all."""
        return sum(due.open_minor for due in self.dues) - self.ahead_minor

    def due_minor(self, today: date) -> int:
        """What should have been paid by now."""
        return sum(due.open_minor for due in self.dues if due.is_due(today))

    def overdue(self, today: date) -> Due | None:
        """The part that has been open longest after its day, if any has."""
        return next((due for due in self.dues if due.is_overdue(today)), None)

    def next_due(self, today: date) -> Due | None:
        """The next part that will be due."""
        return next((due for due in self.dues if due.open_minor and not due.is_due(today)), None)


@while_unchanged
def owed_for(db: Reading | Writing, commission_id: int) -> Owed:
    """What is owed for one commission."""
    return owed_of(db, [commission_id])[commission_id]


def owed_of(db: Reading | Writing, commission_ids: Iterable[int]) -> dict[int, Owed]:
    """What is owed for each of these commissions."""
    ids = list(commission_ids)
    paid, delivered, dues = _paid(db, ids), _delivered(db, ids), _parts(db, ids)
    usual = db.exec(select(Studio.currency)).one()
    found = {}
    for number in ids:
        parts = [_at_delivery(due, delivered.get(number)) for due, _ in dues[number]]
        currency = next((currency for _, currency in dues[number]), usual)
        found[number] = _owed(currency, parts, paid.get(number, 0))
    return found


def _owed(currency: str, parts: Sequence[Due], paid_minor: int) -> Owed:
    """Let what was paid settle the parts in the order in which they are due; what is given back settles too."""
    agreed = sum(part.amount_minor for part in parts)
    left = paid_minor - sum(part.amount_minor for part in parts if part.amount_minor < 0)
    settled = []
    for part in sorted((part for part in parts if part.amount_minor >= 0), key=lambda part: part.on or date.max):
        taken = max(0, min(left, part.amount_minor))
        left -= taken
        settled.append(Due(part.kind, part.version, part.due, part.on, part.amount_minor, part.amount_minor - taken))
    return Owed(currency, agreed, paid_minor, tuple(settled), left)


def _at_delivery(due: Due, delivered_on: date | None) -> Due:
    if due.due != "at delivery":
        return due
    return Due(due.kind, due.version, due.due, delivered_on, due.amount_minor, due.open_minor)


def _parts(db: Reading | Writing, ids: Sequence[int]) -> dict[int, list[tuple[Due, str]]]:
    """The parts of everything accepted, with its currency."""
    zone = ZoneInfo(db.exec(select(Studio.time_zone)).one())
    rows = db.exec(
        select(Quote, QuoteInstalment)
        .join(QuoteInstalment, col(QuoteInstalment.quote_id) == Quote.id)
        .where(col(Quote.commission_id).in_(ids), Quote.state == "accepted")
        .order_by(col(Quote.accepted_at), col(Quote.id), col(QuoteInstalment.position))
    )
    found: dict[int, list[tuple[Due, str]]] = defaultdict(list)
    for quote, part in rows:
        assert quote.accepted_at is not None
        accepted_on = quote.accepted_at.astimezone(zone).date()
        on = None if part.due == "at delivery" else max(part.due_on or accepted_on, accepted_on)
        due = Due(quote.kind, quote.version, part.due, on, part.amount_minor, part.amount_minor)
        found[quote.commission_id].append((due, quote.currency))
    return found


def _paid(db: Reading | Writing, ids: Sequence[int]) -> dict[int, int]:
    """What was paid less what was given back, entries taken back left out."""
    rows = db.exec(select(Payment).where(col(Payment.commission_id).in_(ids))).all()
    wrong = {row.counters_id for row in rows}
    found: dict[int, int] = defaultdict(int)
    for row in rows:
        if row.kind != "counter" and row.id not in wrong:
            found[row.commission_id] += row.amount_minor if row.kind == "paid" else -row.amount_minor
    return found


def _delivered(db: Reading | Writing, ids: Sequence[int]) -> dict[int, date]:
    """The day on which the last garment of each commission was delivered, where all are."""
    zone = ZoneInfo(db.exec(select(Studio.time_zone)).one())
    delivered = col(Garment.delivered_at)
    rows = db.exec(
        select(col(Garment.commission_id), func.max(delivered), func.count(col(Garment.id)), func.count(delivered))
        .where(col(Garment.commission_id).in_(ids), col(Garment.state) != "called off")
        .group_by(col(Garment.commission_id))
    )
    return {number: last.astimezone(zone).date() for number, last, every, done in rows if last and every == done}
