"""Commissions as lists show them: by the day they are wanted."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import func, select
from sqlmodel import col

from service.records.db import Reading
from service.records.folding import holding
from service.records.tables import Client, Commission, Garment

PAGE = 50
OPEN = ("asked", "quoted", "agreed")
OVER = ("closed", "called off")


@dataclass(frozen=True, slots=True)
class CommissionLine:
    """One commission in a list."""

    id: int
    title: str
    client: str
    wanted_on: date
    state: str
    garments: int
    left_ms: int


def commissions_by_day(
    db: Reading, words: str = "", *, over: bool = False, after: tuple[date, int] | None = None
) -> list[CommissionLine]:
    """Commissions by the day wanted, with how many garments and how much work is left; one more than a page shows.

    `after` is the day and number of the last one seen. Those that are over come latest day first.
    """
    day, number = col(Commission.wanted_on), col(Commission.id)
    found = _lines().where(col(Commission.state).in_(OVER if over else OPEN))
    if words.strip():
        found = found.where(holding(words, Commission.title, Client.name, Commission.occasion))
    if after is not None:
        last_day, last_number = after
        beyond = day < last_day if over else day > last_day
        found = found.where(beyond | ((day == last_day) & (number > last_number)))
    rows: Sequence[Any] = (
        db.connection().execute(found.order_by(day.desc() if over else day, number).limit(PAGE + 1)).all()
    )
    return [CommissionLine(*row) for row in rows]


def commissions_of(db: Reading, client_id: int) -> list[CommissionLine]:
    """Every commission of one client, the latest day first."""
    found = _lines().where(col(Commission.client_id) == client_id)
    ordered = found.order_by(col(Commission.wanted_on).desc(), col(Commission.id).desc())
    return [CommissionLine(*row) for row in db.execute(ordered)]


def every_commission(db: Reading) -> list[CommissionLine]:
    """Every commission, whatever its state, by the day wanted."""
    found = _lines().order_by(col(Commission.wanted_on), col(Commission.id))
    return [CommissionLine(*row) for row in db.execute(found)]


def _lines() -> Any:
    day, number = col(Commission.wanted_on), col(Commission.id)
    return (
        select(
            number,
            col(Commission.title),
            col(Client.name),
            day,
            col(Commission.state),
            func.count(col(Garment.id)),
            func.coalesce(func.sum(Garment.left_ms), 0),
        )
        .join(Client, col(Client.id) == Commission.client_id)
        .outerjoin(
            Garment,
            (col(Garment.commission_id) == Commission.id) & (col(Garment.state) != "called off"),
        )
        .group_by(number, col(Commission.title), col(Client.name), day, col(Commission.state))
    )
