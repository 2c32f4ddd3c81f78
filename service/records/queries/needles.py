"""Needles and pins as they were counted: what is still out or missing, whose, and the last count."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from sqlmodel import col, select
from sqlmodel.sql.expression import SelectOfScalar

from service.reckoning.sharps_out import Sharps, SharpsCount, SharpsOut, sharps_out
from service.records.db import Reading, Writing
from service.records.tables import Account, NeedleCount

WITH_A_HANDOVER = "with handover "
"""How the key of a count begins that a handover left, and nobody counted at a sitting."""


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
    """What one person has out of one garment: still being worked with, or missing since the last count; and `whole`,
    all that went out with it, which is counted in together.
    """

    who: str
    needles: int
    pins: int
    is_sitting: bool
    since: datetime
    account_id: int
    whole: Sharps
    came_with_it: bool = False

    @property
    def words(self) -> str:
        """The same in words."""
        named = needles_and_pins(self.needles, self.pins)
        are = "is" if self.needles + self.pins == 1 else "are"
        if not self.is_sitting:
            return f"{named} counted out by {self.who} {are} missing."
        if self.came_with_it:
            return f"{named} taken over with the piece by {self.who} {are} not counted in yet."
        return f"{named} counted out by {self.who} {are} not counted in yet."


@dataclass(frozen=True, slots=True)
class InHerName:
    """One person's needles and pins at a garment: the way she counted last, what is out, and all that went out."""

    way: Literal["out", "in"]
    needles: int
    pins: int
    whole: Sharps

    @property
    def is_short(self) -> bool:
        """Whether fewer were counted in than went out."""
        return self.way == "in" and bool(self.needles or self.pins)


def open_needles(db: Reading | Writing, garment_id: int) -> list[OpenNeedles]:
    """Everybody whose needles and pins of this garment are not all counted in again."""
    rows = db.exec(
        select(NeedleCount, Account.name)
        .join(Account, col(NeedleCount.account_id) == Account.id)
        .where(NeedleCount.garment_id == garment_id)
        .order_by(col(NeedleCount.id))
    ).all()
    names = {counted.account_id: name for counted, name in rows}
    by_account: dict[int, list[NeedleCount]] = {}
    for counted, _ in rows:
        by_account.setdefault(counted.account_id, []).append(counted)
    return [
        OpenNeedles(
            names[account],
            out.open.needles,
            out.open.pins,
            is_sitting=out.came_in is None,
            since=counts[-1].recorded_at,
            account_id=account,
            came_with_it=bool(out.with_the_piece),
            whole=out.whole,
        )
        for account, counts in by_account.items()
        if (out := out_by(counts)).open
    ]


def needles_out(db: Reading | Writing, account_id: int, garment_id: int) -> SharpsOut:
    """What one person has out of one garment."""
    return out_by(_counts(db, account_id, garment_id))


def in_her_name(db: Reading | Writing, account_id: int, garment_id: int) -> InHerName | None:
    """The same as her own page tells it; None when she never counted any."""
    counts = _counts(db, account_id, garment_id)
    if not counts:
        return None
    out = out_by(counts)
    way: Literal["out", "in"] = "in" if out.came_in is not None or not out.whole else "out"
    return InHerName(way, out.open.needles, out.open.pins, out.whole)


def last_needles(db: Reading | Writing, account_id: int, garment_id: int) -> NeedleCount | None:
    """The last count of this person on this garment."""
    return db.exec(_needles_of(account_id, garment_id).order_by(col(NeedleCount.id).desc()).limit(1)).first()


def _counts(db: Reading | Writing, account_id: int, garment_id: int) -> Sequence[NeedleCount]:
    return db.exec(_needles_of(account_id, garment_id).order_by(col(NeedleCount.id))).all()


def out_by(counts: Sequence[NeedleCount]) -> SharpsOut:
    """What is out by one person's counts of one garment, in the order in which they were made."""
    return sharps_out(_as_counted(each) for each in counts)


def _as_counted(count: NeedleCount) -> SharpsCount:
    sharps = Sharps(count.needles, count.pins)
    if count.way == "in":
        return SharpsCount("in", sharps)
    return SharpsCount("with the piece" if count.key.startswith(WITH_A_HANDOVER) else "out", sharps)


def _needles_of(account_id: int, garment_id: int) -> SelectOfScalar[NeedleCount]:
    return select(NeedleCount).where(NeedleCount.account_id == account_id, NeedleCount.garment_id == garment_id)
