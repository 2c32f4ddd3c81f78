"""Needles and pins that the work table tells of: missing on a piece, or out in the name of somebody who has the piece
in her hands no more.
"""

from dataclasses import dataclass

from sqlmodel import col, select

from service.records.db import Reading
from service.records.queries.needles import needles_and_pins, out_by
from service.records.queries.standing import OPEN, is_seen_by
from service.records.tables import Account, Garment, NeedleCount
from service.records.unchanged import while_unchanged

GONE = ("delivered", "called off")
"""States of a garment that is not in the studio any more: nothing is counted in on it."""


@dataclass(frozen=True, slots=True)
class OutElsewhere:
    """What is out in somebody's name on a piece that is not in her hands any more."""

    garment_id: int
    garment: str
    needles: int
    pins: int

    @property
    def words(self) -> str:
        """The same in words."""
        named, garment_name = needles_and_pins(self.needles, self.pins), self.garment
        if self.needles + self.pins == 1:
            return f"In your name {named} is still out on {garment_name}."
        return f"In your name {named} are still out on {garment_name}."


@dataclass(frozen=True, slots=True)
class MissingOn:
    """What one person's last count in left short on a garment that is being made."""

    garment_id: int
    garment: str
    who: str
    needles: int
    pins: int

    @property
    def words(self) -> str:
        """The same in words."""
        named, garment_name, who = needles_and_pins(self.needles, self.pins), self.garment, self.who
        if self.needles + self.pins == 1:
            return f"{garment_name}: {named} counted out by {who} is missing."
        return f"{garment_name}: {named} counted out by {who} are missing."


@while_unchanged
def missing_anywhere(db: Reading) -> list[MissingOn]:
    """What is missing since a sitting on any garment that is being made, in the order of the garments."""
    rows = db.exec(
        select(NeedleCount, Garment.name, Account.name)
        .join(Garment, col(NeedleCount.garment_id) == Garment.id)
        .join(Account, col(NeedleCount.account_id) == Account.id)
        .where(col(Garment.state).in_(OPEN))
        .order_by(col(NeedleCount.garment_id), col(NeedleCount.id))
    ).all()
    names = {(counted.garment_id, counted.account_id): (garment, who) for counted, garment, who in rows}
    counts: dict[tuple[int, int], list[NeedleCount]] = {place: [] for place in names}
    for counted, _, _ in rows:
        counts[counted.garment_id, counted.account_id].append(counted)
    found = ((place, out_by(of_her)) for place, of_her in counts.items())
    return [
        MissingOn(place[0], *names[place], out.open.needles, out.open.pins)
        for place, out in found
        if out.open and out.came_in is not None
    ]


@while_unchanged
def out_elsewhere(db: Reading, account_id: int, stitcher_id: int | None) -> list[OutElsewhere]:
    """What is out in her name on pieces of which nothing is in her hands or offered to her, and that are still here."""
    rows = db.exec(
        select(NeedleCount, Garment.name)
        .join(Garment, col(NeedleCount.garment_id) == Garment.id)
        .where(NeedleCount.account_id == account_id, col(Garment.state).not_in(GONE))
        .order_by(col(NeedleCount.id))
    ).all()
    names = {counted.garment_id: name for counted, name in rows}
    counts: dict[int, list[NeedleCount]] = {number: [] for number in names}
    for counted, _ in rows:
        counts[counted.garment_id].append(counted)
    return [
        OutElsewhere(number, names[number], out.needles, out.pins)
        for number, of_garment in counts.items()
        if (out := out_by(of_garment).open) and not is_seen_by(db, number, stitcher_id)
    ]
