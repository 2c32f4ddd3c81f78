"""Needles and pins as they were counted at the table: what is still out or missing, and the last count."""

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import col, select
from sqlmodel.sql.expression import SelectOfScalar

from service.records.db import Reading, Writing
from service.records.tables import Account, NeedleCount


def needles_and_pins(needles: int, pins: int) -> str:
    """So many needles and pins, in words.

    >>> needles_and_pins(1, 2), needles_and_pins(0, 1), needles_and_pins(0, 0)
    ('1 needle and 2 pins', '1 pin', '')
    """
    told = "1 needle" if needles == 1 else f"{needles} needles"
    also = "1 pin" if pins == 1 else f"{pins} pins"
    if needles and pins:
        return f"{told} and {also}"
    return told if needles else also if pins else ""


@dataclass(frozen=True, slots=True)
class OpenNeedles:
    """What one person has out of one garment: still being worked with, or missing since the last count."""

    who: str
    needles: int
    pins: int
    is_sitting: bool
    since: datetime

    @property
    def words(self) -> str:
        """The same in words."""
        named = needles_and_pins(self.needles, self.pins)
        are = "is" if self.needles + self.pins == 1 else "are"
        return f"{named} counted out by {self.who} {are} {'not counted in yet' if self.is_sitting else 'missing'}."


def open_needles(db: Reading | Writing, garment_id: int) -> list[OpenNeedles]:
    """Everybody whose needles and pins of this garment are not all counted in again."""
    rows = db.exec(
        select(NeedleCount, Account.name)
        .join(Account, col(NeedleCount.account_id) == Account.id)
        .where(NeedleCount.garment_id == garment_id)
        .order_by(col(NeedleCount.id))
    ).all()
    found: dict[int, OpenNeedles] = {}
    out: dict[int, NeedleCount] = {}
    for counted, name in rows:
        account = counted.account_id
        if counted.way == "out":
            out[account] = counted
            found[account] = OpenNeedles(
                name, counted.needles, counted.pins, is_sitting=True, since=counted.recorded_at
            )
            continue
        missing = (out[account].needles - counted.needles, out[account].pins - counted.pins)
        found[account] = OpenNeedles(name, *missing, is_sitting=False, since=counted.recorded_at)
    return [each for each in found.values() if each.needles or each.pins]


def last_needles(db: Reading | Writing, account_id: int, garment_id: int) -> NeedleCount | None:
    """The last count of this person on this garment."""
    return db.exec(needles_of(account_id, garment_id).limit(1)).first()


def needles_of(account_id: int, garment_id: int) -> SelectOfScalar[NeedleCount]:
    """One person's counts on one garment, the newest first."""
    return (
        select(NeedleCount)
        .where(NeedleCount.account_id == account_id, NeedleCount.garment_id == garment_id)
        .order_by(col(NeedleCount.id).desc())
    )
