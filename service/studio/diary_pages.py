"""The diary's pages, one a day: who is expected to work on what, who is away, what is likely done, what is wanted."""

from dataclasses import dataclass
from datetime import date
from itertools import groupby

from service.reckoning.capacity import HORIZON_DAYS
from service.reckoning.dates import at_least
from service.reckoning.diary import diary
from service.records.queries.diary import Piece, Worker
from service.studio.diary import A_DAY, Foreseen, Part

MS_PER_HOUR = 3_600_000
MS_PER_MINUTE = 60_000


@dataclass(frozen=True, slots=True)
class Entry:
    """Work expected on one part of a piece."""

    piece: Piece
    part: Part
    left_ms: int


@dataclass(frozen=True, slots=True)
class HerDay:
    """One stitcher's day: what she is expected to work on, or why she does not and what rests meanwhile."""

    worker: Worker
    entries: tuple[Entry, ...] = ()
    is_away: bool = False
    why_away: str = ""
    rests: tuple[Piece, ...] = ()

    @property
    def by_piece(self) -> list[tuple[Piece, list[Entry]]]:
        """What she works on, piece by piece."""
        return [(piece, list(those)) for piece, those in groupby(self.entries, lambda entry: entry.piece)]

    @property
    def left_ms(self) -> int:
        """All her expected work of the day."""
        return sum(entry.left_ms for entry in self.entries)


@dataclass(frozen=True, slots=True)
class DayPage:
    """One page of the diary."""

    day: date
    people: tuple[HerDay, ...]
    done: tuple[Piece, ...]
    wanted: tuple[Piece, ...]


def day_pages(plan: Foreseen, first: date, days: int, only: int | None = None) -> list[DayPage]:
    """The pages of so many days from `first` on, which is not before today; `only` writes one stitcher's diary."""
    place = (first - plan.facts.today).days
    pieces = {piece.id: piece for piece in plan.facts.pieces}
    entries: dict[tuple[date, int], list[Entry]] = {}
    for line in diary(plan.ask, plan.spans, days, min(place, HORIZON_DAYS)):
        part = plan.parts[line.job]
        entry = Entry(pieces[part.garment_id], part, round(line.hours * MS_PER_HOUR / MS_PER_MINUTE) * MS_PER_MINUTE)
        entries.setdefault((line.day, int(line.stitcher)), []).append(entry)
    here = [worker for worker in plan.facts.workers if only in {None, worker.id}]
    shown = shown_to(plan, only)
    return [
        DayPage(
            day,
            tuple(hers for worker in here if (hers := _her_day(plan, worker, day, entries)) is not None),
            tuple(piece for piece in shown if piece.left_ms and plan.days_of(piece.id).likely == day),
            tuple(piece for piece in shown if piece.wanted_on == day),
        )
        for day in (first + number * A_DAY for number in range(days))
    ]


def shown_to(plan: Foreseen, only: int | None) -> list[Piece]:
    """All pieces, or those of which one stitcher holds a panel or is expected to work on one; wanted first, first."""
    if only is None:
        return list(plan.facts.pieces)
    expected = {part.garment_id for part in plan.parts.values() if part.hands and part.hands.stitcher_id == only}
    return [piece for piece in plan.facts.pieces if piece.id in expected or holds(piece, only)]


def those_beyond(pieces: list[Piece], last: int | None, most: int) -> tuple[list[Piece], int | None]:
    """The next few pieces after one, the first where it is none of these; and the last of them if there are more."""
    begin = next((place for place, piece in enumerate(pieces, 1) if piece.id == last), 0)
    shown = pieces[begin : begin + most]
    return shown, shown[-1].id if len(pieces) > begin + most else None


def holds(piece: Piece, stitcher_id: int | None) -> bool:
    """Whether a stitcher holds a panel of a piece, so that she may open its page."""
    return any(panel.holder_id == stitcher_id for panel in piece.panels)


def _her_day(plan: Foreseen, worker: Worker, day: date, entries: dict[tuple[date, int], list[Entry]]) -> HerDay | None:
    away = next((away for away in worker.away if away.first <= day <= away.last), None)
    if away is not None:
        rests = _resting(plan, worker, day)
        return HerDay(worker, is_away=True, why_away=away.note, rests=rests) if rests else None
    hers = entries.get((day, worker.id))
    return HerDay(worker, tuple(hers)) if hers else None


def _resting(plan: Foreseen, worker: Worker, day: date) -> tuple[Piece, ...]:
    """The pieces that a stitcher would be at or take up next, were she not away."""
    waiting = []
    for part in plan.parts.values():
        span = plan.spans.get(part.job)
        if span is None or not span.has_work or part.hands is None or part.hands.stitcher_id != worker.id:
            continue
        if at_least(span.ended, (0.5,))[0] > span.hers.by_day[min((day - plan.facts.today).days, HORIZON_DAYS - 1)]:
            waiting.append((at_least(span.begun, (0.5,))[0], part.garment_id))
    first = min(waiting, default=None)
    return () if first is None else (plan.pieces[first[1]],)
