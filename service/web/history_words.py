"""A garment's history in words: runs of counts put together, and what happened beside them."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from service.languages.spoken import said
from service.records.queries.history import Happened, History
from service.records.queries.log import Entry
from service.records.queries.photos import Shown
from service.studio.finishing import SHORTLY
from service.web import manner
from service.web.words import operation

TOGETHER = timedelta(hours=1)
"""Counts of one step by one person belong to one sitting while no longer lies between them."""


@dataclass(frozen=True, slots=True)
class Sitting:
    """Counts of one step made in one go: the first of them with the sum of all, and when the last was made."""

    entry: Entry
    counts: int
    last_at: datetime

    @property
    def at(self) -> datetime:
        """When it began."""
        return self.entry.at


Line = Sitting | Happened | Shown


@dataclass(frozen=True, slots=True)
class Day:
    """One day: its lines in the order of the clock, and the seconds that stand of each person."""

    on: date
    lines: tuple[Line, ...]
    seconds: Mapping[str, int]

    @property
    def all_seconds(self) -> int:
        """The seconds of everybody."""
        return sum(self.seconds.values())


def days_of(history: History, zone: ZoneInfo) -> list[Day]:
    """The days of a history, newest first; the lines of each in the order of the clock."""
    found = []
    for on in history.days:
        entries = [entry for entry in history.entries if _day(entry.at, zone) == on]
        everything: list[Line] = [*sittings(entries), *history.happened, *history.photos]
        lines = sorted((line for line in everything if _day(line.at, zone) == on), key=_moment)
        found.append(Day(on, tuple(lines), _standing_seconds(entries)))
    return found


def sittings(entries: Iterable[Entry]) -> list[Sitting]:
    """Counts of the same step by the same person, one soon after the other, put together; all else stands alone."""
    together: list[Sitting] = []
    for entry in entries:
        before = together[-1] if together else None
        if before is not None and _goes_on(before, entry):
            together[-1] = _added(before, entry)
        else:
            together.append(Sitting(entry, 1, entry.at))
    return together


def told(line: Happened) -> str:
    """What happened, in words, without who did it."""
    words = _WORDS.get(line.action)
    return line.action if words is None else words(line)


def counted_again(before: str, after: str) -> str:
    """What of a recount differs, from the counts before and after as the log keeps them.

    >>> counted_again("667 standing threads, 10 withdrawn", "660 standing threads, 10 withdrawn")
    '667 → 660 standing threads'
    """
    pairs = zip(before.split(", "), after.split(", "), strict=False)
    differ = [f"{old.partition(' ')[0]} → {_counted(new)}" for old, new in pairs if old != new]
    return ", ".join(differ) or f"{_counted(after)}, as before"


def _counted(words: str) -> str:
    """One count of a recount, as the log keeps it, its word said."""
    number, _, what = words.partition(" ")
    return f"{number} {said(what)}"


def _undone(before: str) -> str:
    """What of a finishing list was not seen to, from the words by which the book keeps it.

    >>> _undone("fragments, pressed")
    'every piece of a broken needle or pin found; pressed from the wrong side'
    """
    return "; ".join(said(SHORTLY.get(word, word)) for word in before.split(", "))


def late(entry: Entry, time_zone: str) -> date | None:
    """The day on which a count came in, if that is another than the day on which it was made."""
    zone = ZoneInfo(time_zone)
    came_in = _day(entry.recorded_at, zone)
    return came_in if came_in != _day(entry.at, zone) else None


def clock(moment: datetime, time_zone: str) -> str:
    """The time of day where the studio is."""
    return manner.clock_said(moment.astimezone(ZoneInfo(time_zone)))


def _goes_on(before: Sitting, entry: Entry) -> bool:
    first = before.entry
    plain = all(
        each.kind == "work" and not (each.taken_back or each.reason or each.overruled) for each in (first, entry)
    )
    same = (first.step_id, first.who) == (entry.step_id, entry.who)
    return plain and same and entry.at - before.last_at <= TOGETHER


def _added(before: Sitting, entry: Entry) -> Sitting:
    first = before.entry
    known = [each.seconds for each in (first, entry) if each.seconds is not None]
    summed = replace(
        first,
        counted_tenths=first.counted_tenths + entry.counted_tenths,
        seconds=sum(known) if known else None,
        recorded_at=max(first.recorded_at, entry.recorded_at),
    )
    return Sitting(summed, before.counts + 1, entry.at)


def _standing_seconds(entries: Sequence[Entry]) -> dict[str, int]:
    """The seconds of work and of unpicking by person, without entries that were wrong."""
    found: dict[str, int] = {}
    for entry in entries:
        if entry.seconds and entry.kind != "counter" and not entry.taken_back:
            found[entry.who] = found.get(entry.who, 0) + entry.seconds
    return found


def _day(moment: datetime, zone: ZoneInfo) -> date:
    return moment.astimezone(zone).date()


def _moment(line: Line) -> datetime:
    return line.at


def _hands(name: str) -> str:
    return name or "the shelf"


_WORDS: Mapping[str, Callable[[Happened], str]] = {
    "recounted": lambda line: f"{line.part}: counted again, {counted_again(line.before, line.after)}",
    "steered": lambda line: f"{line.part}: the row was steered",
    "way out taken": lambda line: f"{line.part}: a way out was taken",
    "more on the cloth": lambda line: (
        f"{line.part}, {operation(line.operation)}: there was more than planned, {line.before} → {line.after}"
    ),
    "given": lambda line: f"{line.part}: from {_hands(line.before)} to {_hands(line.after)}",
    "offered": lambda line: f"offered to {_hands(line.after)}",
    "sent back": lambda _: "the offer was sent back",
    "found again": lambda _: "needles or pins found again",
    "finished": lambda _: "called finished",
    "called finished without its whole list": lambda line: f"called finished without: {_undone(line.before)}",
    "delivered": lambda _: "delivered",
}
FILTERS: Mapping[str, Callable[..., Any]] = {"told": told, "late": late, "clock": clock}
