"""Backups made by themselves: one every so many hours, the last of each of some days and of some weeks kept."""

import logging
import re
import shutil
import threading
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from sqlmodel import select

from service.errors import Refusal
from service.records.db import Database
from service.records.folder import owned
from service.records.pack import ASIDE
from service.records.photo_store import PhotoStore
from service.records.tables import Studio
from service.studio.backup import RECORDS_ASIDE, Backup, back_up

FOLDER_NAME = "backups"
LOOKS_EVERY_S = 60
A_DAY = timedelta(hours=24)
TRIES_AGAIN_AFTER = timedelta(minutes=15)
_NAMED = "stopline-%Y%m%dT%H%M%SZ.zip"
_NAME = re.compile(r"stopline-\d{8}T\d{6}Z\.zip")
log = logging.getLogger("stopline.backup")


@dataclass(frozen=True, slots=True)
class KeptBackup:
    """One backup that lies in the folder."""

    path: Path
    made_at: datetime
    bytes: int


@dataclass(frozen=True, slots=True)
class BackupPlan:
    """Where backups lie, how many hours apart they are made (0: only when asked for), and what is kept of them."""

    folder: Path
    hours: int = 24
    days: int = 7
    weeks: int = 8


@dataclass(slots=True)
class Rounds:
    """Looks now and then whether a backup is due, and makes it; the folder remembers, so a restart changes nothing."""

    database: Database
    photos: PhotoStore
    plan: BackupPlan
    clock: Callable[[], datetime]
    fault: str = ""
    tried_at: datetime | None = None

    def start(self, wait: Callable[[float], bool]) -> threading.Thread:
        """Look until `wait` says that the service stops."""
        thread = threading.Thread(target=self._go_round, args=(wait,), name="backups", daemon=True)
        thread.start()
        return thread

    def look(self) -> Backup | None:
        """Make a backup if one is due and there is a studio yet; what goes wrong is kept to be shown."""
        at = self.clock()
        waits = self.tried_at is not None and timedelta(0) <= at - self.tried_at < TRIES_AGAIN_AFTER
        if (self.fault and waits) or not is_due(self.plan, at) or not _is_opened(self.database):
            return None
        try:
            return self.make()
        except Exception as error:  # the service must go on, whatever ails a disk
            log.exception("no backup was made")
            self.fault = error.sentence if isinstance(error, Refusal) else "The backup could not be written."
            self.tried_at = at
            return None

    def make(self) -> Backup:
        """Make a backup now, and remove those that need not be kept any longer."""
        at = self.clock()
        with owned(self.plan.folder):
            _sweep(self.plan.folder)
            made = back_up(self.database, self.photos, self.plan.folder / at.astimezone(UTC).strftime(_NAMED), at)
            lying = {backup.made_at: backup.path for backup in kept_backups(self.plan.folder)}
            for stamp in spare(lying, self.plan.days, self.plan.weeks):
                lying[stamp].unlink(missing_ok=True)
        self.fault, self.tried_at = "", at
        return made

    def _go_round(self, wait: Callable[[float], bool]) -> None:
        while not wait(LOOKS_EVERY_S):
            self.look()


def kept_backups(folder: Path) -> list[KeptBackup]:
    """The backups in a folder, the newest first, by the moment in their names."""
    named = sorted((path for path in folder.glob("stopline-*.zip") if _NAME.fullmatch(path.name)), reverse=True)
    moments = (datetime.strptime(path.name, _NAMED).replace(tzinfo=UTC) for path in named)
    return [KeptBackup(path, at, path.stat().st_size) for path, at in zip(named, moments, strict=True)]


def newest_backup(folder: Path, at: datetime) -> KeptBackup | None:
    """The newest backup; one that claims to come from the future, as after a clock was set back, does not count."""
    return next((backup for backup in kept_backups(folder) if backup.made_at <= at), None)


def is_due(plan: BackupPlan, at: datetime) -> bool:
    """Whether the newest backup is old enough for another."""
    newest = newest_backup(plan.folder, at)
    return plan.hours > 0 and (newest is None or at - newest.made_at >= timedelta(hours=plan.hours))


def spare(moments: Iterable[datetime], days: int, weeks: int) -> set[datetime]:
    """The backups that may go: none of the newest 24 hours, nor the last of the last `days` days and `weeks` weeks.

    Days and weeks without a backup do not count, so that a studio closed for the summer loses nothing. A week begins
    on Monday (ISO 8601). The newest always stays.

    >>> at = datetime(2026, 11, 25, 12, tzinfo=UTC)
    >>> sorted(moment.day for moment in spare([at - timedelta(days=n) for n in range(5)], days=2, weeks=2))
    [21, 23]
    """
    newest_first = sorted(moments, reverse=True)
    by_day: dict[object, datetime] = {}
    by_week: dict[object, datetime] = {}
    for moment in newest_first:
        by_day.setdefault(moment.date(), moment)
        by_week.setdefault(moment.isocalendar()[:2], moment)
    kept = {moment for moment in newest_first if newest_first[0] - moment < A_DAY}
    kept |= {*list(by_day.values())[:days], *list(by_week.values())[:weeks]}
    return set(newest_first) - kept


def _sweep(folder: Path) -> None:
    """Remove what a cut left half written."""
    for half in folder.glob(f".*{ASIDE}"):
        half.unlink(missing_ok=True)
    for records in folder.glob(f"{RECORDS_ASIDE}*"):
        shutil.rmtree(records, ignore_errors=True)


def _is_opened(database: Database) -> bool:
    with database.reading() as db:
        return db.exec(select(Studio.id)).first() is not None
