"""Stitchers: the hours they work a weekday, the days they are away, their accounts, and leaving."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import col, select

from service.errors import Conflict, NotFound
from service.records.db import Reading, Writing
from service.records.queries.handovers import not_settled
from service.records.tables import Account, Event, Garment, Panel, Stitcher, StitcherAway
from service.records.tables.people import WEEKDAYS
from service.studio.sessions import end_all, end_tokens
from service.studio.sign_in import NewOwner, add_account


@dataclass(frozen=True, slots=True)
class StitcherFacts:
    """What is written down of a stitcher. `minutes` are those she works, Monday to Sunday."""

    name: str
    minutes: tuple[int, ...]
    pay_minor_per_hour: int | None
    notes: str


def stitcher_with(db: Reading | Writing, stitcher_id: int) -> Stitcher:
    """The stitcher of that number, or a refusal."""
    stitcher = db.get(Stitcher, stitcher_id)
    if stitcher is None:
        raise NotFound("There is no such stitcher.")
    return stitcher


def minutes_of(stitcher: Stitcher) -> tuple[int, ...]:
    """Minutes she works, Monday to Sunday."""
    return tuple(getattr(stitcher, f"minutes_{day}") for day in WEEKDAYS)


def add_stitcher(db: Writing, facts: StitcherFacts, at: datetime) -> Stitcher:
    """Write a new stitcher down."""
    stitcher = Stitcher(name=facts.name, created_at=at)
    _fill(stitcher, facts)
    db.add(stitcher)
    db.flush()
    return stitcher


def change_stitcher(db: Writing, stitcher_id: int, facts: StitcherFacts) -> None:
    """Correct what is written of a stitcher."""
    stitcher = stitcher_with(db, stitcher_id)
    _fill(stitcher, facts)
    db.add(stitcher)


def change_hours(db: Writing, stitcher_id: int, minutes: tuple[int, ...]) -> None:
    """Set the minutes she works, Monday to Sunday."""
    stitcher = stitcher_with(db, stitcher_id)
    _set_minutes(stitcher, minutes)
    db.add(stitcher)


def add_days_away(db: Writing, stitcher_id: int, first: date, last: date, note: str) -> None:
    """Write down days on which she does not work."""
    stitcher_with(db, stitcher_id)
    db.add(StitcherAway(stitcher_id=stitcher_id, first_day=first, last_day=last, note=note))


def remove_days_away(db: Writing, stitcher_id: int, away_id: int) -> StitcherAway:
    """Take days away back: she works on them after all. Gives what is gone."""
    away = db.get(StitcherAway, away_id)
    if away is None or away.stitcher_id != stitcher_id:
        raise NotFound("There are no such days away.")
    db.delete(away)
    return away


def days_away(db: Reading | Writing, stitcher_id: int) -> list[StitcherAway]:
    """All days away of a stitcher, earliest first."""
    return list(
        db.exec(
            select(StitcherAway).where(StitcherAway.stitcher_id == stitcher_id).order_by(col(StitcherAway.first_day))
        )
    )


def account_of(db: Reading | Writing, stitcher_id: int) -> Account | None:
    """The account a stitcher signs in with, if she has one."""
    return db.exec(select(Account).where(Account.stitcher_id == stitcher_id)).first()


def let_sign_in(db: Writing, stitcher_id: int, email: str, at: datetime) -> Account:
    """Give a stitcher an account of her own; a link lets her choose its password."""
    stitcher = stitcher_with(db, stitcher_id)
    if account_of(db, stitcher_id) is not None:
        raise Conflict(f"{stitcher.name} has an account already.")
    return add_account(db, NewOwner(stitcher.name, email, None), "stitcher", stitcher_id, at)


def switch_account(db: Writing, stitcher_id: int, *, active: bool, at: datetime) -> None:
    """Let a stitcher's account sign in, or not any more: its sessions and tokens end at once."""
    account = account_of(db, stitcher_id)
    if account is None:
        raise NotFound("She has no account.")
    if account.role == "owner" and not active:
        raise Conflict("The owner's own account cannot be switched off.")
    account.active = active
    db.add(account)
    if not active:
        assert account.id is not None
        end_all(db, account.id, at)
        end_tokens(db, account.id, at)


def let_go(db: Writing, stitcher_id: int, on: date, account_id: int, at: datetime) -> None:
    """Write down that a stitcher left: her log stays; what is in her hands must have been given on."""
    stitcher = stitcher_with(db, stitcher_id)
    held = set(
        db.exec(
            select(Garment.name)
            .join(Panel, col(Panel.garment_id) == Garment.id)
            .where(Panel.holder_id == stitcher_id, col(Garment.state).in_(("planned", "in work", "finished")))
        )
    )
    if held:
        raise Conflict(f"{stitcher.name} still holds {', '.join(sorted(held))}. Give that to somebody else first.")
    offered = sorted({row.garment for row in not_settled(db, stitcher_id) if row.state == "offered"})
    if offered:
        are = "is" if len(offered) == 1 else "are"
        raise Conflict(
            f"{', '.join(offered)} {are} offered to or by {stitcher.name}. Let that be taken or sent back first."
        )
    stitcher.left_on = on
    db.add(stitcher)
    account = account_of(db, stitcher_id)
    if account is not None and account.role != "owner":
        switch_account(db, stitcher_id, active=False, at=at)
    db.add(Event(at=at, account_id=account_id, action="left", object_kind="stitcher", object_id=stitcher_id))


def take_back(db: Writing, stitcher_id: int) -> None:
    """Write down that a stitcher who left is here again; her account stays switched off until it is wanted."""
    stitcher = stitcher_with(db, stitcher_id)
    stitcher.left_on = None
    db.add(stitcher)


def _fill(stitcher: Stitcher, facts: StitcherFacts) -> None:
    stitcher.name, stitcher.notes = facts.name, facts.notes
    stitcher.pay_minor_per_hour = facts.pay_minor_per_hour
    _set_minutes(stitcher, facts.minutes)


def _set_minutes(stitcher: Stitcher, minutes: tuple[int, ...]) -> None:
    for day, amount in zip(WEEKDAYS, minutes, strict=True):
        setattr(stitcher, f"minutes_{day}", amount)
