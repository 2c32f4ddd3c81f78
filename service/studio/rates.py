"""What the studio's own log has taught: paces fitted to it, and the hours left that follow from them.

A fit belongs to one state of the log, told by its mark. An answer that must be exact is reckoned from the log as it is
now; a list takes the newest fit there is and leaves the next one to be made behind it, so that nobody waits.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from sys import intern
from threading import Lock
from time import monotonic
from typing import Any
from zoneinfo import ZoneInfo

from sqlmodel import select

from service.reckoning.draws import Drawn, draw
from service.reckoning.guesses import count_felt
from service.reckoning.hours import Line, Stretch
from service.reckoning.hours_answer import mostly_guesses
from service.reckoning.hours_left import HoursLeft, hours_left
from service.reckoning.operations import GUESS_THREADS_PER_CM, OPERATIONS
from service.reckoning.rates import (
    MINUTES_IN_A_DAY,
    MOST_THREAD_LENGTH_MM,
    MOST_THREADS_PER_CM,
    MOST_UNITS,
    LoggedWork,
)
from service.reckoning.rates_fit import Fit, fit
from service.records.db import Database, Reading, Writing
from service.records.queries.rates import (
    LogMark,
    WorkMark,
    log_mark,
    logged_work,
    pieces_finished,
    work_left,
    work_mark,
)
from service.records.tables import Studio
from service.studio.guesses import guesses_of, prior_of
from service.studio.record import LAST_PIECES, StudioRecord, look_back

UM_PER_MM = 1000
SECONDS_PER_MINUTE = 60
COUNT_DIGITS = 4
RESTS_FOR = 9  # times as long as it learned, so that it takes a tenth of one processor at most


@dataclass(frozen=True, slots=True, eq=False)
class Learned:
    """What one state of the log has taught."""

    mark: LogMark
    drawn: Drawn

    @property
    def fit(self) -> Fit:
        """The paces themselves."""
        return self.drawn.fit

    @property
    def mostly_guesses(self) -> bool:
        """Whether guesses still speak louder than the log."""
        return mostly_guesses(self.fit)

    @property
    def records(self) -> int:
        """How many days of one piece of work the log tells of."""
        return len(self.fit.blocks)


def learn(db: Reading | Writing) -> Learned:
    """Fit the paces to the log as this session sees it."""
    mark = log_mark(db)
    prior = prior_of(guesses_of(db))
    return Learned(mark, draw(fit(own_log(db), prior)))


def own_log(db: Reading | Writing) -> Iterator[LoggedWork]:
    """The studio's log as the fit reads it: stitchers and garments by their numbers, days as the studio's clock says.

    It comes entry by entry: all twenty thousand at once would take the memory of everything else that is read.

    Entries without minutes, those taken back, work undone, and what cannot be one day's work are left out.
    """
    zone = ZoneInfo(db.exec(select(Studio.time_zone)).one())
    entries = (_logged(row, zone) for row in logged_work(db))
    return (entry for entry in entries if _is_possible(entry))


def _logged(row: Any, zone: ZoneInfo) -> LoggedWork:
    # thousands of entries name the same few: each name is kept once
    return LoggedWork(
        day=row.at.astimezone(zone).date(),
        stitcher=intern(whose(row.stitcher_id, row.account_id)),
        operation=intern(row.operation),
        threads_per_cm=fineness_of(row) or GUESS_THREADS_PER_CM,
        garment=intern(str(row.garment_id)),
        units=row.counted_tenths / 10,
        minutes=row.seconds / SECONDS_PER_MINUTE,
        thread_length_mm=thread_length_of(row),
    )


def _is_possible(entry: LoggedWork) -> bool:
    return (
        entry.operation in OPERATIONS
        and entry.minutes <= MINUTES_IN_A_DAY
        and entry.units <= MOST_UNITS
        and entry.threads_per_cm <= MOST_THREADS_PER_CM
        and (entry.thread_length_mm or 0) <= MOST_THREAD_LENGTH_MM
    )


def whose(stitcher_id: int | None, account_id: int | None = None) -> str:
    """The name under which the fit knows somebody: her number, or her account's when she has no stitcher's record."""
    if stitcher_id is not None:
        return str(stitcher_id)
    return f"account {account_id or 'gone'}"


def fineness_of(row: Any) -> float | None:
    """The count that the operation feels; a section without a direction crosses both systems and takes their mean."""
    if row.direction is None:
        withdrawn = standing = (row.warp_per_cm + row.weft_per_cm) / 2
    elif row.direction == "across":
        withdrawn, standing = row.weft_per_cm, row.warp_per_cm
    else:
        withdrawn, standing = row.warp_per_cm, row.weft_per_cm
    felt = count_felt(row.operation, withdrawn, standing)
    return None if felt is None else round(felt, COUNT_DIGITS)


def thread_length_of(row: Any) -> float | None:
    """How long the threads are that a step withdraws, in mm."""
    return row.thread_length_um / UM_PER_MM if row.thread_length_um else None


class Learning:
    """The newest of what the log has taught, and the hours left reckoned from it; one of these a service."""

    def __init__(self) -> None:
        self._fitting = Lock()
        self._newest: Learned | None = None
        self._rested_at = 0.0
        self._left: tuple[tuple[LogMark, WorkMark, float] | None, dict[int, HoursLeft]] = (None, {})
        self._record: tuple[WorkMark, StudioRecord] | None = None

    def exact(self, db: Reading | Writing) -> Learned:
        """What the log as this session sees it has taught."""
        mark, newest = log_mark(db), self._newest
        if newest is not None and newest.mark == mark:
            return newest
        with self._fitting:
            if self._newest is None or self._newest.mark != mark:
                self._newest = learn(db)
            return self._newest

    def newest(self, db: Reading | Writing) -> Learned:
        """What was learned last, from this log or one a little older; made now only when there is none yet."""
        return self._newest or self.exact(db)

    def is_behind(self, db: Reading | Writing) -> bool:
        """Whether the log has grown since."""
        return self._newest is None or self._newest.mark != log_mark(db)

    def record(self, db: Reading | Writing) -> StudioRecord:
        """How the studio's ranges held for the pieces finished last."""
        now = work_mark(db)
        if self._record is None or self._record[0] != now:
            before = self._record[1] if self._record else StudioRecord(())
            finished = pieces_finished(db, LAST_PIECES)
            looked = look_back(lambda: own_log(db), finished, before, lambda day: prior_of(guesses_of(db, day)))
            self._record = (now, looked)
        return self._record[1]

    @property
    def kappa(self) -> float:
        """The widening that the record asks for, as far as it is known."""
        return self._record[1].held.kappa if self._record else 1.0

    def is_due(self, db: Reading | Writing) -> bool:
        """Whether it is time to learn again: behind the log, and rested long enough since the last time."""
        return monotonic() >= self._rested_at and self.is_behind(db)

    def catch_up(self, database: Database) -> None:
        """Learn from the log as it is now, unless somebody is at it already."""
        if self._fitting.acquire(blocking=False):
            began = monotonic()
            try:
                with database.reading() as db:
                    if self.is_behind(db):
                        self._newest = learn(db)
                    self.record(db)
            finally:
                self._rested_at = monotonic() + RESTS_FOR * (monotonic() - began)
                self._fitting.release()

    def hours_left(self, db: Reading | Writing, garment_ids: Iterable[int]) -> dict[int, HoursLeft]:
        """The hours left of these garments, by the paces of those in whose hands they are.

        Kept until the log, the hands or the counts change.
        """
        learned, now = self.newest(db), work_mark(db)
        key = (learned.mark, now, self.kappa)
        kept = self._left[1] if self._left[0] == key else {}
        wanted = list(dict.fromkeys(garment_ids))
        if missing := [number for number in wanted if number not in kept]:
            kept = {**kept, **hours_left(learned.drawn, stretches_left(db, missing), key[2])}
            self._left = (key, kept)
        return {number: kept[number] for number in wanted}


def stretches_left(db: Reading | Writing, garment_ids: Iterable[int]) -> dict[int, list[Stretch]]:
    """The work left of these garments, a stretch for each stitcher who holds a part; the shelf's is anybody's."""
    held: dict[int, dict[str, list[Any]]] = {number: {} for number in garment_ids}
    for row in work_left(db, list(held)):
        holder = "" if row.holder_id is None else whose(row.holder_id)
        held[row.garment_id].setdefault(holder, []).append(row)
    return {
        number: [
            Stretch(f"{number} {holder}", lines_together(rows), holder, str(number)) for holder, rows in holders.items()
        ]
        for number, holders in held.items()
    }


def lines_together(rows: Iterable[Any]) -> tuple[Line, ...]:
    """The lines of steps that are left: those of one operation on one cloth are one line, being set up for once."""
    amounts: dict[tuple[str, float | None, float | None], float] = {}
    for row in rows:
        alike = (row.operation, fineness_of(row), thread_length_of(row))
        amounts[alike] = amounts.get(alike, 0) + row.left_tenths / 10
    return tuple(
        Line(operation, amount, threads_per_cm, length_mm)
        for (operation, threads_per_cm, length_mm), amount in amounts.items()
    )
