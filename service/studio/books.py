"""Hours as books: who worked how long at what, what each stitcher has earned, was paid and is owed."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from sqlmodel import col, select

from service.reckoning.pay import AtOnePay, Before, owed, pay_on
from service.records.db import Reading, Writing
from service.records.queries.books import (
    ALWAYS,
    Span,
    Stretch,
    first_and_last,
    paid_to,
    worked_by_person,
)
from service.records.tables import EarlierPay, Stitcher, Studio


@dataclass(frozen=True, slots=True)
class Days:
    """From a day to a day, both included; None is without end."""

    first: date | None = None
    last: date | None = None


@dataclass(frozen=True, slots=True)
class Month:
    """A month's time, in seconds, and whose it is: pairs of a name and seconds, in order of the names."""

    first_day: date
    by_person: tuple[tuple[str, int], ...]

    @property
    def seconds(self) -> int:
        """Of all together."""
        return sum(seconds for _, seconds in self.by_person)


@dataclass(frozen=True, slots=True)
class Account:
    """One stitcher's account: her time at each pay an hour, the earliest first, and what was paid to her."""

    stitcher: Stitcher
    stretches: tuple[AtOnePay, ...]
    paid: int

    @property
    def seconds(self) -> int:
        """All time she logged."""
        return sum(each.seconds for each in self.stretches)

    @property
    def earned(self) -> int:
        """What that comes to, in minor units."""
        return sum(each.earned for each in self.stretches)

    @property
    def owed(self) -> int:
        """What is still to be paid; below zero when she was paid ahead."""
        return owed(self.stretches, self.paid)

    @property
    def is_paid_by_the_hour(self) -> bool:
        """Whether any pay is written down for her."""
        return self.stitcher.pay_minor_per_hour is not None or any(each.per_hour is not None for each in self.stretches)


def span_of(db: Reading | Writing, days: Days) -> Span:
    """The days as moments, by the studio's clock."""
    zone = _zone(db)
    return Span(
        None if days.first is None else _midnight(days.first, zone),
        None if days.last is None else _midnight(days.last + timedelta(days=1), zone),
    )


def by_month(db: Reading | Writing, days: Days, stitcher_id: int | None = None) -> list[Month]:
    """The months with time logged, the latest first."""
    span, zone = span_of(db, days), _zone(db)
    first, last = first_and_last(db, span)
    if first is None or last is None:
        return []
    months = list(_months(first.astimezone(zone).date(), last.astimezone(zone).date()))
    cuts = tuple(_midnight(month, zone) for month in months[1:])
    found: dict[int, list[tuple[str, int]]] = defaultdict(list)
    for stretch in worked_by_person(db, span, cuts, stitcher_id):
        found[stretch.cut].append((stretch.name, stretch.seconds))
    return [Month(months[cut], tuple(found[cut])) for cut in sorted(found, reverse=True)]


def by_person(db: Reading | Writing, days: Days) -> list[Stretch]:
    """The time of everybody who logged any."""
    return list(worked_by_person(db, span_of(db, days), (), None))


def accounts(db: Reading | Writing, stitcher_id: int | None = None) -> list[Account]:
    """The account of every stitcher, or of one, over all time; those who left and are owed nothing come last."""
    wanted = select(Stitcher).order_by(col(Stitcher.name), col(Stitcher.id))
    earlier = select(EarlierPay).order_by(col(EarlierPay.before_day))
    if stitcher_id is not None:
        wanted = wanted.where(Stitcher.id == stitcher_id)
        earlier = earlier.where(EarlierPay.stitcher_id == stitcher_id)
    before: dict[int, list[Before]] = defaultdict(list)
    for row in db.exec(earlier):
        before[row.stitcher_id].append(Before(row.before_day, row.pay_minor_per_hour))
    days = sorted({each.day for pays in before.values() for each in pays})
    zone = _zone(db)
    cuts = tuple(_midnight(day, zone) for day in days)
    worked: dict[int | None, list[Stretch]] = defaultdict(list)
    for stretch in worked_by_person(db, ALWAYS, cuts, stitcher_id):
        worked[stretch.stitcher_id].append(stretch)
    paid = paid_to(db, stitcher_id)
    found = [
        Account(each, _at_each_pay(each, before[each.id or 0], days, worked[each.id]), paid.get(each.id or 0, 0))
        for each in db.exec(wanted)
    ]
    return sorted(found, key=lambda each: each.stitcher.left_on is not None and not each.owed)


def _at_each_pay(
    stitcher: Stitcher, earlier: Sequence[Before], days: Sequence[date], stretches: Iterable[Stretch]
) -> tuple[AtOnePay, ...]:
    """Her time at each pay: what was worked before a day on which her own pay changed, and since the last."""
    seconds: dict[date | None, int] = defaultdict(int)
    for stretch in stretches:
        until = days[stretch.cut] if stretch.cut < len(days) else None
        own = next((each.day for each in earlier if until is not None and each.day >= until), None)
        seconds[own] += stretch.seconds
    now = stitcher.pay_minor_per_hour
    ends: list[date | None] = [*(each.day for each in earlier), None]
    return tuple(
        AtOnePay(end, now if end is None else pay_on(end - timedelta(days=1), now, earlier), seconds[end])
        for end in ends
        if seconds[end] or end is None
    )


def _months(first: date, last: date) -> Iterable[date]:
    month = first.replace(day=1)
    while month <= last:
        yield month
        month = (month + timedelta(days=31)).replace(day=1)


def _zone(db: Reading | Writing) -> ZoneInfo:
    return ZoneInfo(db.exec(select(Studio.time_zone)).one())


def _midnight(day: date, zone: ZoneInfo) -> datetime:
    return datetime.combine(day, time(), zone).astimezone(UTC)
