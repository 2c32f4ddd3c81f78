"""What is settled before a backup counts again: nobody is signed in by it, and whoever was erased stays erased.

What ended after the backup was made stands in it as good: sign-ins, links that set a password and recovery codes end
here all together. Clients' links, calendars' links, scripts' tokens and passwords cannot be told apart: they are
counted, for the owner to look at.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy import ColumnElement, delete, update
from sqlmodel import SQLModel, col, func, select

from service.records.at_once import at_once
from service.records.db import Database, Writing
from service.records.photo_store import PhotoStore
from service.records.tables import (
    AccessToken,
    CalendarLink,
    Event,
    KnownBrowser,
    LoginSession,
    RecoveryCode,
    ShareLink,
    Studio,
    WayIn,
)
from service.records.trail import STUDIO
from service.studio.client_data import erase_again, remembered

PUT_BACK = "put back from a backup"


@dataclass(frozen=True, slots=True)
class Settled:
    """How many of each ended, and how many are as good as they were when the backup was made."""

    signed_out: int = 0
    links: int = 0
    codes: int = 0
    erased: int = 0
    windows: int = 0
    calendars: int = 0
    tokens: int = 0

    def lines(self) -> list[str]:
        """What is said of it at the terminal."""
        ended = (
            f"Everybody has to sign in again: {self.signed_out} sign-ins, {self.links} links to set a password and "
            f"{self.codes} recovery codes of the backup are good no more. Whoever has a second step makes new codes."
        )
        said = [ended]
        if self.erased:
            whose = "client" if self.erased == 1 else "clients"
            said.append(f"Erased again, as it was erased since: the data of {self.erased} {whose}.")
        said.append(
            f"As good as they were then, even if ended since: {self.windows} links of clients (on each commission, "
            f"Window), {self.calendars} of calendars (in the diary), {self.tokens} tokens of scripts and who may sign "
            "in (Settings, Accounts), and every password. Look at them, and end what was ended."
        )
        return said


def settling(folder: Path, store: PhotoStore, at: datetime) -> Callable[[Database], Settled]:
    """What settles the records of a backup that is put back into this folder."""

    def settle(database: Database) -> Settled:
        with database.writing() as db:
            ended = _end_all(db, at)
            counts = _still_good(db, at)
        return Settled(*ended, erase_again(database, store, remembered(folder), at), *counts)

    return settle


def _end_all(db: Writing, at: datetime) -> tuple[int, int, int]:
    open_ones = col(LoginSession.ended_at).is_(None), col(LoginSession.ends_at) > at
    signed_out = at_once(db, update(LoginSession).where(*open_ones).values(ended_at=at))
    unused = col(WayIn.used_at).is_(None), col(WayIn.withdrawn_at).is_(None)
    links = at_once(db, update(WayIn).where(*unused, col(WayIn.ends_at) > at).values(withdrawn_at=at))
    codes = at_once(db, delete(RecoveryCode).where(col(RecoveryCode.used_at).is_(None)))
    at_once(db, delete(KnownBrowser))
    if db.get(Studio, 1) is not None:
        db.add(Event(at=at, action=PUT_BACK, object_kind=STUDIO, object_id=1))
    return signed_out, links, codes


def _still_good(db: Writing, at: datetime) -> Sequence[int]:
    def counted(table: type[SQLModel], *conditions: ColumnElement[bool]) -> int:
        return db.exec(select(func.count()).select_from(table).where(*conditions)).one()

    return (
        counted(ShareLink, col(ShareLink.revoked_at).is_(None), col(ShareLink.ends_at) > at),
        counted(CalendarLink, col(CalendarLink.ended_at).is_(None)),
        counted(AccessToken, col(AccessToken.ended_at).is_(None)),
    )
