"""What if: the diary's plan with one thing changed, before and after side by side. Nothing is kept by asking."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from service.reckoning.dates import at_least, shown_percent
from service.reckoning.hours import Line
from service.reckoning.section_work import felt_count
from service.reckoning.what_if import Due, fewest_late
from service.records.db import Reading, Writing
from service.records.queries.diary import More, PanelHeld, Piece, Planned, Worker
from service.studio.diary import Facts, Foreseen, Part, PieceDays, foresee, hands_of, holder_of, job_of, week_minutes
from service.studio.foresight import Foresight
from service.studio.making import Drafted, in_order
from service.studio.more_minutes import MoreAsk
from service.studio.rates import COUNT_DIGITS

NEW = 0  # the number of a piece that is only thought of
MOST_MOVES = 24


@dataclass(frozen=True, slots=True)
class Change:
    """A piece whose days or chance differ; nothing before for one that is only thought of."""

    piece: Piece
    before: PieceDays | None
    after: PieceDays


@dataclass(frozen=True, slots=True, eq=False)
class Move:
    """A part in another stitcher's hands, and what it does."""

    part: Part
    to: Worker
    days: PieceDays
    changes: tuple[Change, ...]


@dataclass(frozen=True, slots=True)
class Advice:
    """Of one stitcher's pieces those to put back, so that all her others are likely in time."""

    worker: Worker
    back: tuple[Piece, ...]
    others: int


def with_hands(plan: Foreseen, *given: tuple[Part, int]) -> Facts:
    """What the plan rests on when these parts are planned for these stitchers, by their numbers."""
    facts = plan.facts
    for part, stitcher_id in given:
        piece = plan.piece(part.garment_id)
        assert piece is not None
        key = (part.garment_id, part.panel_id)
        others = tuple(each for each in facts.planned if (each.garment_id, each.panel_id) != key)
        facts = replace(facts, planned=(*others, Planned(NEW, *key, stitcher_id, holder_of(piece, part.panel_id))))
    return facts


def with_minutes(plan: Foreseen, ask: MoreAsk) -> Facts:
    """What the plan rests on when a stitcher works more for a while."""
    more = More(NEW, ask.stitcher_id, ask.weekday, ask.minutes, ask.first, ask.last)
    workers = (
        replace(each, more=(*each.more, more)) if each.id == ask.stitcher_id else each for each in plan.facts.workers
    )
    return replace(plan.facts, workers=tuple(workers))


def tried(db: Reading | Writing, foresight: Foresight, plan: Foreseen, facts: Facts) -> Foreseen:
    """The plan with other facts: everybody's hands chosen anew, the same draws."""
    return _worked(db, foresight, plan, facts, plan.parts)


def with_new(
    db: Reading | Writing, foresight: Foresight, plan: Foreseen, new: tuple[Piece, Mapping[str, Part]]
) -> Foreseen:
    """The plan with a piece more."""
    piece, parts = new
    return _worked(
        db, foresight, plan, replace(plan.facts, pieces=(*plan.facts.pieces, piece)), {**plan.parts, **parts}
    )


def _worked(
    db: Reading | Writing, foresight: Foresight, plan: Foreseen, facts: Facts, parts: Mapping[str, Part]
) -> Foreseen:
    planned = {(each.garment_id, each.panel_id): each for each in facts.planned}
    hands = {piece.id: hands_of(piece, planned, facts.workers) for piece in facts.pieces}
    now = {job: replace(part, hands=hands[part.garment_id][part.panel_id]) for job, part in parts.items()}
    return foresee(facts, now, plan.learnt, foresight.hours_of(db, now.values()))


def changes(before: Foreseen, after: Foreseen) -> tuple[Change, ...]:
    """The pieces whose days or chance, as they are shown, differ between two plans."""
    found = []
    for piece in after.facts.pieces:
        was = None if before.piece(piece.id) is None else before.days_of(piece.id)
        now = after.days_of(piece.id)
        if was is None or _as_shown(was) != _as_shown(now):
            found.append(Change(piece, was, now))
    return tuple(found)


def _as_shown(days: PieceDays) -> tuple[date | None, date | None, int | None]:
    return days.likely, days.sure, None if days.chance is None else shown_percent(days.chance)


def moves_of(db: Reading | Writing, foresight: Foresight, plan: Foreseen, garment_id: int) -> list[Move]:
    """The parts of a piece tried in everybody else's hands, MOST_MOVES and no more.

    The best chance comes first, of equals the earlier day.
    """
    return _moves(db, foresight, plan, garment_id)


def moves_beside(db: Reading | Writing, foresight: Foresight, plan: Foreseen, first: Move) -> list[Move]:
    """The other parts of the piece given away as well as that one, where it helps more than that one alone.

    Their days and changes are those of both; the best chance first. Not every two parts are tried: MOST_MOVES, each
    with this one.
    """
    with_it = _moves(db, foresight, plan, first.part.garment_id, (first.part, first.to.id))
    return [move for move in with_it if _helps(move) < _helps(first)]


def _moves(
    db: Reading | Writing, foresight: Foresight, plan: Foreseen, garment_id: int, *given: tuple[Part, int]
) -> list[Move]:
    found: list[Move] = []
    gone = {part.job for part, _ in given}
    for part in [it for it in plan.parts.values() if it.garment_id == garment_id and it.job not in gone]:
        for worker in plan.facts.workers:
            if not week_minutes(worker) or (part.hands is not None and part.hands.stitcher_id == worker.id):
                continue
            after = tried(db, foresight, plan, with_hands(plan, *given, (part, worker.id)))
            found.append(Move(part, worker, after.days_of(garment_id), changes(plan, after)))
            if len(found) == MOST_MOVES:
                return sorted(found, key=_helps)
    return sorted(found, key=_helps)


def _helps(move: Move) -> tuple[float, date]:
    """Smaller for what helps more: the better chance, of equals the earlier day."""
    return -(move.days.chance or 0.0), move.days.sure or date.max


def advice(plan: Foreseen) -> list[Advice]:
    """For everybody with late pieces the fewest to put back, where that saves more than it costs (Moore 1968)."""
    pieces = {piece.id: piece for piece in plan.facts.pieces}
    found = []
    for worker in plan.facts.workers:
        work = _queue(plan, worker.id)
        back = [int(each) for each in fewest_late(work)]
        if back and _late(work) > len(back):
            found.append(Advice(worker, tuple(pieces[number] for number in back), len(work) - len(back)))
    return found


def _queue(plan: Foreseen, stitcher_id: int) -> list[Due]:
    """A stitcher's pieces in likely hours of her clock, with those that she has until each is wanted."""
    hours: dict[int, float] = {}
    due: dict[int, float] = {}
    wanted = {piece.id: piece.wanted_on for piece in plan.facts.pieces}
    for job, span in plan.spans.items():
        part = plan.parts[job]
        if part.hands is None or part.hands.stitcher_id != stitcher_id or not span.has_work:
            continue
        (begun,), (ended,) = at_least(span.begun, (0.5,)), at_least(span.ended, (0.5,))
        hours[part.garment_id] = hours.get(part.garment_id, 0.0) + ended - begun
        place = (wanted[part.garment_id] - plan.facts.today).days
        due[part.garment_id] = float(span.hers.by_day[min(place, len(span.hers.by_day) - 1)]) if place >= 0 else 0.0
    return [Due(str(number), hours[number], due[number]) for number in hours]


def _late(work: Sequence[Due]) -> int:
    """How many of these are late when the earliest day is worked first."""
    spent, late = 0.0, 0
    for each in sorted(work, key=lambda one: one.due_hours):
        spent += each.hours
        late += spent > each.due_hours
    return late


def new_piece(drafted: Drafted, name: str, wanted_on: date, by: int | None) -> tuple[Piece, dict[str, Part]]:
    """A piece that is only thought of, from a design on chosen cloths: its parts with the whole work."""
    numbers = {panel.key: -place for place, panel in enumerate(drafted.plan.panels, 1)}
    lines: dict[int | None, dict[tuple[str, float | None, float | None], float]] = {}
    for step, panel, section in in_order(drafted.plan):
        fineness = None if section is None else felt_count(step.operation, section.direction, section.counts)
        length = section.after.length_mm if section is not None and step.operation == "withdraw" else None
        alike = (step.operation, None if fineness is None else round(fineness, COUNT_DIGITS), length)
        is_joined = panel is None or (section is not None and section.owner == "garment")
        amounts = lines.setdefault(None if is_joined or panel is None else numbers[panel.key], {})
        amounts[alike] = amounts.get(alike, 0) + step.quantity
    panels = tuple(PanelHeld(numbers[panel.key], panel.name, by) for panel in drafted.plan.panels)
    names: dict[int | None, str] = {panel.id: panel.name for panel in panels}
    parts = {
        job_of(NEW, number): Part(
            job_of(NEW, number),
            NEW,
            number,
            names.get(number, ""),
            None,
            None,
            tuple(Line(operation, amount, threads, length) for (operation, threads, length), amount in found.items()),
        )
        for number, found in lines.items()
    }
    return Piece(NEW, name, wanted_on, 1, joined=False, holder_id=None, panels=panels), parts
