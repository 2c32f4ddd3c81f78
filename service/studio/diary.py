"""The diary's plan, made from the records: whose hands every part of an open garment is in, and when it is done.

A garment's parts are its panels, each with its own sections, and after all of them the work on the joined garment.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any, Literal
from zoneinfo import ZoneInfo

from sqlmodel import select

from service.reckoning.arrays import Array
from service.reckoning.capacity import HOURS_A_DAY, Availability, Stitcher, Week, availability_of
from service.reckoning.dates import DatesAsk, GarmentDays, Job, Span, days_found, work_off
from service.reckoning.hours import Line
from service.records.db import Reading, Writing
from service.records.queries.diary import (
    PanelHeld,
    Piece,
    Planned,
    Worker,
    logged_since,
    open_pieces,
    planned_hands,
    those_gone,
    workers,
)
from service.records.queries.rates import WorkMark, work_left, work_mark
from service.records.tables import Studio
from service.records.unchanged import while_unchanged
from service.studio.rates import lines_together

MOST_PIECES = 400
WEEKS_BACK = 12
MINUTES_PER_HOUR = 60
SECONDS_PER_HOUR = 3600
LEAST_OF_TODAY = 0.25  # hours: less of a day is not begun any more
MORE_AHEAD = timedelta(days=3 * 366)
A_DAY = timedelta(days=1)
LEAST_CHANCE, MOST_CHANCE = 0.01, 0.99  # nothing is certain

Why = Literal["held", "planned", "most panels", "most hours"]


@dataclass(frozen=True, slots=True)
class Facts:
    """What the plan rests on beside the work itself; two that are equal, with equal marks, make the same plan."""

    today: date
    workers: tuple[Worker, ...]
    gone: tuple[tuple[int, str], ...]
    pieces: tuple[Piece, ...]
    planned: tuple[Planned, ...]
    mark: WorkMark


@dataclass(frozen=True, slots=True)
class Hands:
    """Who is to work on a part, and why she."""

    stitcher_id: int
    why: Why


@dataclass(frozen=True, slots=True)
class Part:
    """A panel, or without one the joined garment, with the work left of it. `held_by` holds it now."""

    job: str
    garment_id: int
    panel_id: int | None
    name: str
    hands: Hands | None
    held_by: int | None
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Learnt:
    """How many weeks a stitcher logged, the share of her planned hours that she works, and what she worked today."""

    weeks: int
    availability: Availability
    worked_today: float


@dataclass(frozen=True, slots=True)
class PieceDays:
    """The likely day, the one that is kept eight times in ten, the chance from 0.01 to 0.99; or why there is none."""

    likely: date | None = None
    sure: date | None = None
    chance: float | None = None
    why_not: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Foreseen:
    """The plan: its parts by job, who works when, how every job lies in its stitcher's hours, each garment's days.

    `unforeseen` says by garment why it has no days.
    """

    facts: Facts
    parts: Mapping[str, Part]
    learnt: Mapping[int, Learnt]
    ask: DatesAsk
    spans: Mapping[str, Span]
    days: Mapping[int, GarmentDays | None]
    pieces: Mapping[int, Piece]
    unforeseen: Mapping[int, str]
    notes: tuple[str, ...]

    def name_of(self, stitcher_id: int | None) -> str:
        """A stitcher's name, of those gone too; empty for nobody."""
        names = {**dict(self.facts.gone), **{each.id: each.name for each in self.facts.workers}}
        return names.get(stitcher_id or 0, "")

    def piece(self, garment_id: int) -> Piece | None:
        """An open garment of the plan."""
        return self.pieces.get(garment_id)

    def days_of(self, garment_id: int) -> PieceDays:
        """When an open garment is likely done, and the chance that this is in time."""
        piece, days = self.piece(garment_id), self.days.get(garment_id)
        if piece is None:
            return PieceDays(why_not=f"Only the {MOST_PIECES} pieces wanted first are foreseen.")
        if days is not None:
            return PieceDays(days.p50, days.p80, _shown(days.chance_in_time or 0.0))
        if not piece.left_ms:
            today = self.facts.today
            return PieceDays(today, today, MOST_CHANCE if today <= piece.wanted_on else LEAST_CHANCE)
        chance = LEAST_CHANCE if garment_id in self.days else None
        return PieceDays(chance=chance, why_not=self.unforeseen.get(garment_id, "Not foreseen yet."))


def _shown(chance: float) -> float:
    return min(MOST_CHANCE, max(LEAST_CHANCE, chance))


@while_unchanged
def read_facts(db: Reading | Writing, today: date) -> Facts:
    """What the plan rests on, as this session sees it."""
    here = workers(db)
    gone = tuple(sorted(those_gone(db).items()))
    return Facts(today, here, gone, open_pieces(db, MOST_PIECES), planned_hands(db), work_mark(db))


def parts_of_plan(db: Reading | Writing, facts: Facts) -> dict[str, Part]:
    """Every part of an open garment that has work left, in the order of their days."""
    rows: dict[tuple[int, int | None], list[Any]] = {}
    for row in work_left(db, [piece.id for piece in facts.pieces if piece.left_ms]):
        key = (row.garment_id, None if row.owner == "garment" else row.panel_id)
        rows.setdefault(key, []).append(row)
    planned = {(each.garment_id, each.panel_id): each for each in facts.planned}
    found: dict[str, Part] = {}
    for piece in facts.pieces:
        hands = hands_of(piece, planned, facts.workers)
        for panel in (*piece.panels, None):
            number = None if panel is None else panel.id
            if steps := rows.get((piece.id, number)):
                part = _part(piece, panel, hands[number], steps)
                found[part.job] = part
    return found


def _part(piece: Piece, panel: PanelHeld | None, hands: Hands | None, steps: Iterable[Any]) -> Part:
    number, name = (panel.id, panel.name) if panel is not None else (None, "")
    return Part(
        job_of(piece.id, number), piece.id, number, name, hands, holder_of(piece, number), lines_together(steps)
    )


def job_of(garment_id: int, panel_id: int | None) -> str:
    """The name by which the plan knows a part."""
    return f"{garment_id} {panel_id or 'joined'}"


def holder_of(piece: Piece, panel_id: int | None) -> int | None:
    """Who holds a panel now; of the joined work who holds the garment, or all its panels."""
    if piece.joined:
        return piece.holder_id
    if panel_id is not None:
        return next((panel.holder_id for panel in piece.panels if panel.id == panel_id), None)
    holders = {panel.holder_id for panel in piece.panels}
    return holders.pop() if len(holders) == 1 else None


def hands_of(
    piece: Piece, planned: Mapping[tuple[int, int | None], Planned], here: Sequence[Worker]
) -> dict[int | None, Hands | None]:
    """Who is to work on each panel and, under None, on the joined garment.

    Planned hands first, while the part is where it was when that was decided; else who holds it. What nobody holds is
    reckoned for whoever has the most hours a week, and joined work for whoever works most of the panels.
    """
    known = {each.id for each in here}
    usual = most_hours(here)
    found: dict[int | None, Hands | None] = {}
    for part in (*(panel.id for panel in piece.panels), None):
        holder, plan = holder_of(piece, part), planned.get((piece.id, part))
        if plan is not None and plan.was_with_id == holder and plan.stitcher_id in known:
            found[part] = Hands(plan.stitcher_id, "planned")
        elif holder in known and holder is not None and (part is not None or piece.joined):
            found[part] = Hands(holder, "held")
        elif part is None and not piece.joined and (most := _most_panels(found.values())) is not None:
            found[part] = Hands(most, "most panels")
        else:
            found[part] = None if usual is None else Hands(usual.id, "most hours")
    return found


def _most_panels(panels: Iterable[Hands | None]) -> int | None:
    counted = Counter(hands.stitcher_id for hands in panels if hands is not None)
    return counted.most_common(1)[0][0] if counted else None


def most_hours(here: Sequence[Worker]) -> Worker | None:
    """Who works the most hours a week, of equals who came first; nobody when none has any."""
    found = max(here, key=week_minutes, default=None)
    return found if found is not None and week_minutes(found) else None


def week_minutes(worker: Worker) -> int:
    """The minutes that she works a week."""
    return sum(worker.minutes)


def learnt_of(db: Reading | Writing, facts: Facts) -> dict[int, Learnt]:
    """What the last weeks' log says of everybody's hours, and what is left of them today."""
    zone = ZoneInfo(db.exec(select(Studio.time_zone)).one())
    monday = facts.today - facts.today.weekday() * A_DAY
    first = monday - WEEKS_BACK * 7 * A_DAY
    worked: dict[int, Counter[date]] = {each.id: Counter() for each in facts.workers}
    since = datetime.combine(first, time(), zone)
    for row in logged_since(db, since, worked):
        worked[row.stitcher_id][row.at.astimezone(zone).date()] += row.seconds
    return {each.id: _learnt(each, worked[each.id], first, facts.today) for each in facts.workers}


def _learnt(worker: Worker, worked: Mapping[date, int], first: date, today: date) -> Learnt:
    """A week in which she logged nothing says nothing of her hours, so it is passed over."""
    weeks = []
    for number in range(WEEKS_BACK):
        days = [first + (7 * number + day) * A_DAY for day in range(7)]
        planned = sum(minutes_on(worker, day) for day in days) / MINUTES_PER_HOUR
        done = sum(worked.get(day, 0) for day in days) / SECONDS_PER_HOUR
        if planned and done:
            weeks.append(Week(planned, done))
    return Learnt(len(weeks), availability_of(weeks), worked.get(today, 0) / SECONDS_PER_HOUR)


def minutes_on(worker: Worker, day: date) -> int:
    """The minutes that she plans to work on a day."""
    if any(away.first <= day <= away.last for away in worker.away):
        return 0
    more = [each.minutes for each in worker.more if each.weekday == day.weekday() and each.first <= day <= each.last]
    return min(worker.minutes[day.weekday()] + sum(more), HOURS_A_DAY * MINUTES_PER_HOUR)


def stitcher_of(worker: Worker, learnt: Learnt, today: date) -> Stitcher:
    """Her hours as the plan counts them: today only what is left of it, more on the days that have more."""
    left = minutes_on(worker, today) / MINUTES_PER_HOUR - learnt.worked_today
    other = {today: left if left >= LEAST_OF_TODAY else 0.0}
    for more in worker.more:
        day = max(more.first, today + A_DAY)
        while day <= min(more.last, today + MORE_AHEAD):
            if day.weekday() == more.weekday:
                other[day] = minutes_on(worker, day) / MINUTES_PER_HOUR
            day += A_DAY
    return Stitcher(
        str(worker.id),
        tuple(minutes / MINUTES_PER_HOUR for minutes in worker.minutes),
        frozenset(day for away in worker.away for day in _days(away.first, min(away.last, today + 10 * MORE_AHEAD))),
        learnt.availability,
        tuple(other.items()),
    )


def _days(first: date, last: date) -> Iterable[date]:
    return (first + number * A_DAY for number in range((last - first).days + 1))


def foresee(
    facts: Facts, parts: Mapping[str, Part], learnt: Mapping[int, Learnt], hours: Mapping[str, Array]
) -> Foreseen:
    """Work the plan off. `hours` are those that every part takes whoever is to work on it, in every draw.

    Garments of which a part is in the hands of somebody without hours have no days, and say why.
    """
    busy = {each.id: each for each in facts.workers if week_minutes(each)}
    unforeseen: dict[int, str] = {}
    for part in parts.values():
        if part.hands is None:
            unforeseen[part.garment_id] = "Nobody has any hours in the week, so nothing is foreseen."
        elif part.hands.stitcher_id not in busy:
            name = next(each.name for each in facts.workers if each.id == part.hands.stitcher_id)
            unforeseen[part.garment_id] = (
                f"{name} has no hours in her week, so the day of what is hers is not foreseen."
            )
    wanted = {piece.id: piece.wanted_on for piece in facts.pieces}
    jobs = [_job(part, parts, hours[part.job], wanted) for part in parts.values() if part.garment_id not in unforeseen]
    stitchers = tuple(stitcher_of(each, learnt[each.id], facts.today) for each in busy.values())
    ask = DatesAsk(facts.today, stitchers, tuple(jobs))
    spans = work_off(ask)
    days = {int(name): found for name, found in days_found(ask, spans).items()}
    for number, found in days.items():
        if found is None:
            unforeseen[number] = "There is more work than hours: it is not done within twenty years."
    pieces = {piece.id: piece for piece in facts.pieces}
    return Foreseen(facts, parts, learnt, ask, spans, days, pieces, unforeseen, _notes(facts, parts))


def _job(part: Part, parts: Mapping[str, Part], hours: Array, wanted: Mapping[int, date]) -> Job:
    """The joined garment waits for its panels."""
    after: tuple[str, ...] = ()
    if part.panel_id is None:
        after = tuple(it.job for it in parts.values() if it.garment_id == part.garment_id and it.panel_id is not None)
    assert part.hands is not None
    return Job(part.job, str(part.garment_id), str(part.hands.stitcher_id), hours, wanted[part.garment_id], after)


def _notes(facts: Facts, parts: Mapping[str, Part]) -> tuple[str, ...]:
    """What is odd about whose hands things are in."""
    gone, names = dict(facts.gone), {piece.id: piece.name for piece in facts.pieces}
    said = []
    for part in parts.values():
        if part.held_by in gone and part.held_by is not None:
            person, garment = gone[part.held_by], names[part.garment_id]
            said.append(
                f"{person} has left, but {part.name} of {garment} is still in her hands. Give it into others."
                if part.name
                else f"{person} has left, but {garment} is still in her hands. Give it into others."
            )
    return tuple(said)
