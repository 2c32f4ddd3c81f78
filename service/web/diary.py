"""The diary: a written page a day, each piece's road to its day, and what both rest on."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Annotated, Any

from fastapi import APIRouter, Query
from fastapi.responses import Response
from markupsafe import Markup

from service.errors import NotFound
from service.records.queries.diary import Piece, Planned, Worker
from service.studio.diary import Foreseen, Learnt, Part, PieceDays, week_minutes
from service.studio.diary_pages import day_pages, holds, shown_to, those_beyond
from service.studio.more_minutes import remove_more
from service.studio.planned_hands import end_plan
from service.studio.sign_in import Person
from service.web.deps import Beyond, Id, Now, Owner, OwnerDesk, Reads, SignedIn, SignedInDesk, Writes
from service.web.foreseeing import foresight_of, road_of
from service.web.learning import LearningHere

router = APIRouter(include_in_schema=False, prefix="/diary")
A_WEEK = timedelta(days=7)
MOST_AHEAD = timedelta(days=7305)
MS_PER_MINUTE = 60_000
ROADS = 20  # a page: each weighs as much as a day of the week above


@dataclass(frozen=True, slots=True)
class RoadLine:
    """A piece with its days and its drawn road."""

    piece: Piece
    days: PieceDays
    road: Markup


@dataclass(frozen=True, slots=True)
class WorkerLine:
    """Somebody's hours a week and what the log says of them."""

    worker: Worker
    week_ms: int
    learnt: Learnt


@dataclass(frozen=True, slots=True)
class PlannedLine:
    """A part that is planned for other hands than those it is in."""

    plan: Planned
    piece: Piece
    part: str
    now_with: str
    to: str


@router.get("")
def show_diary(
    desk: SignedInDesk,
    db: Reads,
    person: SignedIn,
    learning: LearningHere,
    first: Annotated[date | None, Query(alias="from")] = None,
    beyond: Beyond = None,
) -> Response:
    plan = foresight_of(desk.request).exact(db, desk.today)
    begin = min(max(first or desk.today, desk.today), desk.today + MOST_AHEAD)
    only = None if person.is_owner else (person.stitcher_id or 0)
    pieces, further = those_beyond(shown_to(plan, only), beyond, ROADS)
    return desk.page(
        "diary/diary.html",
        "diary",
        pages=day_pages(plan, begin, 7, only),
        first=begin,
        today=desk.today,
        before=max(begin - A_WEEK, desk.today) if begin > desk.today else None,
        after=begin + A_WEEK,
        may_open=_may_open(plan, person),
        roads=[RoadLine(piece, plan.days_of(piece.id), road_of(plan, piece.id)) for piece in pieces],
        further=further,
        mostly_guesses=learning.newest(db).mostly_guesses,
        notes=_notes(plan, person),
        **_rests_on(plan, only),
    )


@router.get("/{day}")
def show_day(desk: SignedInDesk, db: Reads, person: SignedIn, day: date) -> Response:
    if not desk.today <= day <= desk.today + MOST_AHEAD:
        raise NotFound("The diary is written ahead, from today. What was done stands in each garment’s log.")
    plan = foresight_of(desk.request).exact(db, desk.today)
    (page,) = day_pages(plan, day, 1, None if person.is_owner else (person.stitcher_id or 0))
    return desk.page(
        "diary/day.html",
        "diary",
        page=page,
        today=desk.today,
        before=day - timedelta(days=1) if day > desk.today else None,
        after=day + timedelta(days=1),
        may_open=_may_open(plan, person),
    )


@router.post("/planned/{planned_id}/end")
def end_planned(desk: OwnerDesk, db: Writes, owner: Owner, at: Now, planned_id: Id) -> Response:
    end_plan(db, planned_id, owner.id, at)
    return desk.go("/diary#hands")


@router.post("/more/{more_id}/remove")
def remove_more_minutes(desk: OwnerDesk, db: Writes, more_id: Id) -> Response:
    remove_more(db, more_id)
    return desk.go("/diary#hours")


def _may_open(plan: Foreseen, person: Person) -> set[int]:
    """The pieces whose page this person may open."""
    return {piece.id for piece in plan.facts.pieces if person.is_owner or holds(piece, person.stitcher_id)}


def _notes(plan: Foreseen, person: Person) -> list[str]:
    """Why pieces have no day, and what is odd, for the owner."""
    return list(dict.fromkeys([*plan.notes, *plan.unforeseen.values()])) if person.is_owner else []


def _rests_on(plan: Foreseen, only: int | None) -> dict[str, Any]:
    """Who has which hours, what is planned for other hands, and what nobody holds."""
    here = [worker for worker in plan.facts.workers if only in {None, worker.id}]
    return {
        "workers": [WorkerLine(it, week_minutes(it) * MS_PER_MINUTE, plan.learnt[it.id]) for it in here],
        "planned": [] if only is not None else _planned(plan),
        "guessed": [] if only is not None else _guessed(plan),
    }


def _planned(plan: Foreseen) -> list[PlannedLine]:
    """Plans that count: those of a part that moved since are left out."""
    found = []
    for each in plan.facts.planned:
        part = next((it for it in plan.parts.values() if _is_of(it, each)), None)
        piece = plan.piece(each.garment_id)
        if part is not None and piece is not None and part.hands is not None and part.hands.why == "planned":
            now_with, to = plan.name_of(part.held_by), plan.name_of(each.stitcher_id)
            found.append(PlannedLine(each, piece, part.name, now_with, to))
    return found


def _is_of(part: Part, planned: Planned) -> bool:
    return (part.garment_id, part.panel_id) == (planned.garment_id, planned.panel_id)


def _guessed(plan: Foreseen) -> list[tuple[Piece, str]]:
    """The pieces of which nobody holds a part, and for whom it is reckoned."""
    found: dict[int, str] = {}
    for part in plan.parts.values():
        if part.hands is not None and part.hands.why == "most hours":
            found[part.garment_id] = plan.name_of(part.hands.stitcher_id)
    return [(piece, found[piece.id]) for piece in plan.facts.pieces if piece.id in found]
