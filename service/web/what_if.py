"""What if: a part in other hands, more minutes for a while, one commission more. Nothing is kept until confirmed."""

from datetime import timedelta
from typing import Any
from urllib.parse import urlencode

from fastapi import APIRouter
from fastapi.responses import Response
from sqlmodel import col, select

from service.drawing.chance import UNSURE
from service.errors import Conflict, NotFound, Unreadable
from service.languages.spoken import said
from service.reckoning.asked import Wrong
from service.reckoning.design_text import read_design
from service.reckoning.designs import Design
from service.records import tables
from service.records.db import Reading, Writing
from service.studio.diary import A_DAY, Foreseen, Part, week_minutes
from service.studio.diary_pages import those_beyond
from service.studio.making import Drafted, draft
from service.studio.more_minutes import MoreAsk, add_more
from service.studio.planned_hands import plan_hands
from service.studio.what_ifs import (
    MOST_MOVES,
    NEW,
    Move,
    advice,
    changes,
    moves_beside,
    moves_of,
    new_piece,
    tried,
    with_hands,
    with_minutes,
    with_new,
)
from service.web.deps import Beyond, Desk, Id, Now, Owner, OwnerDesk, Reads, Writes
from service.web.diary_words import WEEKDAYS
from service.web.foreseeing import foresight_of, road_of
from service.web.forms import Form, Typed
from service.web.making import cloth_fields, shelf_of

router = APIRouter(include_in_schema=False, prefix="/diary/what-if")
MOST_WEEKS, MOST_MINUTES = 52, 720
LATE_ONES = 50  # a page
MOST_TOGETHER = 3
FAR = timedelta(days=3650)


@router.get("")
def show_questions(desk: OwnerDesk, db: Reads, beyond: Beyond = None) -> Response:
    plan = _plan(desk, db)
    chances = ((piece, plan.days_of(piece.id).chance) for piece in plan.facts.pieces if piece.left_ms)
    unsure = [piece for piece, chance in chances if chance is not None and chance < UNSURE]
    shown, further = those_beyond(unsure, beyond, LATE_ONES)
    late = [(piece, plan.days_of(piece.id)) for piece in shown]
    return desk.page("diary/what_if.html", "diary", late=late, further=further, advice=advice(plan))


@router.get("/hands")
def ask_for_hands(desk: OwnerDesk, db: Reads) -> Response:
    form = Form(dict(desk.request.query_params))
    return _hands_page(desk, db, form)


@router.post("/hands")
def plan_for_hands(desk: OwnerDesk, form: Typed, db: Writes, owner: Owner, at: Now) -> Response:
    plan = _plan(desk, db)
    if _is_planned_so(plan, form):  # pressed twice
        return desk.go("/diary#hands")
    try:
        for part, stitcher_id in _hands_asked(plan, form):
            plan_hands(db, (part.garment_id, part.panel_id), stitcher_id, owner.id, at)
    except Conflict as refused:
        form.fault("", refused.sentence)
    if form.wrong:
        db.rollback()
        return _hands_page(desk, db, form)
    return desk.go("/diary#hands")


@router.get("/minutes")
def ask_for_minutes(desk: OwnerDesk, db: Reads) -> Response:
    query = dict(desk.request.query_params)
    return _minutes_page(
        desk, db, Form({"first": desk.today.isoformat(), "weeks": "4", **query}), asked="stitcher" in query
    )


@router.post("/minutes")
def add_minutes(desk: OwnerDesk, form: Typed, db: Writes, owner: Owner, at: Now) -> Response:
    ask = _minutes_asked(_plan(desk, db), form)
    if ask is None:
        return _minutes_page(desk, db, form, asked=True)
    add_more(db, ask, owner.id, at)
    return desk.go("/diary#hours")


@router.get("/new")
def ask_for_new(desk: OwnerDesk, db: Reads) -> Response:
    form = Form(dict(desk.request.query_params))
    plan = _plan(desk, db)
    shelf, design = shelf_of(db), _design(db, form)
    found = _new(desk, db, plan, form, design) if design is not None else None
    current = select(tables.Design.id, tables.Design.name).where(tables.Design.state == "current")
    assert desk.studio
    return desk.page(
        "diary/what_if_new.html",
        "diary",
        status=422 if form.wrong else 200,
        form=form,
        designs=[("", "Choose a design"), *db.exec(current.order_by(col(tables.Design.name)))],
        stitchers=[("", "whoever has the most hours"), *_with_hours(plan)],
        today=desk.today,
        **(found or {"changes": None}),
        **cloth_fields(desk.studio, form, shelf, None if design is None else design[1]),
    )


@router.get("/{garment_id}")
def show_what_would_help(desk: OwnerDesk, db: Reads, garment_id: Id) -> Response:
    plan = _plan(desk, db)
    piece = plan.piece(garment_id)
    if piece is None:
        raise NotFound("There is no such piece being made.")
    foresight = foresight_of(desk.request)
    moves = moves_of(db, foresight, plan, garment_id) if garment_id in plan.days else []
    days = plan.days_of(garment_id)
    commission = db.get_one(tables.Commission, db.get_one(tables.Garment, garment_id).commission_id)
    # Moves come best first; what chance there is now is among what is to be had.
    late = bool(piece.left_ms) and days.chance is not None and max(days.chance, _best(moves)) < UNSURE
    together = moves_beside(db, foresight, plan, moves[0])[:MOST_TOGETHER] if late and moves else []
    return desk.page(
        "diary/what_would_help.html",
        "diary",
        piece=piece,
        commission=commission,
        client=db.get_one(tables.Client, commission.client_id),
        days=days,
        road=road_of(plan, garment_id),
        moves=moves,
        most_moves=MOST_MOVES,
        late=late,
        none_helps=bool(late and moves) and _best(moves) <= (days.chance or 0.0),
        together=together,
        late_still=late and _best(together) < UNSURE,
        advice=advice(plan),
        today=desk.today,
    )


def _best(moves: list[Move]) -> float:
    """The chance of the first of moves that come best first; none has no chance."""
    return (moves[0].days.chance or 0.0) if moves else 0.0


def _plan(desk: Desk, db: Reading | Writing) -> Foreseen:
    return foresight_of(desk.request).exact(db, desk.today)


def _with_hours(plan: Foreseen) -> list[tuple[int, str]]:
    return [(each.id, each.name) for each in plan.facts.workers if week_minutes(each)]


def _hands_page(desk: Desk, db: Reading | Writing, form: Form) -> Response:
    plan = _plan(desk, db)
    given = _hands_asked(plan, form) if form.values and not form.wrong else []
    context: dict[str, Any] = {"changes": None}
    if given:
        after = tried(db, foresight_of(desk.request), plan, with_hands(plan, *given))
        names = [(part.name, plan.name_of(stitcher_id)) for part, stitcher_id in given]
        context = {"changes": changes(plan, after), "given": names}
    return desk.page(
        "diary/what_if_hands.html",
        "diary",
        status=422 if form.wrong else 200,
        form=form,
        parts=[("", "Choose what is given"), *((job, _part_words(plan, part)) for job, part in plan.parts.items())],
        stitchers=[("", "Choose whose hands"), *_with_hours(plan)],
        today=desk.today,
        **context,
    )


def _part_words(plan: Foreseen, part: Part) -> str:
    piece = plan.piece(part.garment_id)
    assert piece is not None
    whose = "" if part.hands is None else plan.name_of(part.hands.stitcher_id)
    named = part.name or said("the joined garment")
    return f"{piece.name}, {named} ({whose or said('nobody')})"


def _is_planned_so(plan: Foreseen, form: Form) -> bool:
    """Whether every part asked for, each once, is planned for these very hands already."""
    pairs = [(form.raw("part"), form.raw("to")), (form.raw("also"), form.raw("also_to"))]
    asked = pairs if any(pairs[1]) else pairs[:1]
    planned = {
        (job, str(part.hands.stitcher_id))
        for job, part in plan.parts.items()
        if part.hands is not None and part.hands.why == "planned"
    }
    return len({job for job, _ in asked}) == len(asked) and planned.issuperset(asked)


def _hands_asked(plan: Foreseen, form: Form) -> list[tuple[Part, int]]:
    """The one or two parts to be given away, each with whose hands it goes into; none while anything is wrong."""
    asked = [_given(plan, form, "part", "to")]
    if form.raw("also") or form.raw("also_to"):
        asked.append(_given(plan, form, "also", "also_to"))
        if form.raw("also") and form.raw("also") == form.raw("part"):
            form.fault("also", "Choose another part: this one is given already.")
    return [] if form.wrong else [each for each in asked if each is not None]


def _given(plan: Foreseen, form: Form, what: str, to: str) -> tuple[Part, int] | None:
    job = form.choice(what, plan.parts, called="what is given")
    whose = form.choice(to, [str(number) for number, _ in _with_hours(plan)], called="into whose hands it goes")
    if not job or not whose:
        return None
    part = plan.parts[job]
    if part.hands is not None and part.hands.stitcher_id == int(whose):
        form.fault(to, f"{plan.name_of(int(whose))} is to work on it already. Choose somebody else.")
        return None
    return part, int(whose)


def _minutes_page(desk: Desk, db: Reading | Writing, form: Form, *, asked: bool) -> Response:
    plan = _plan(desk, db)
    ask = _minutes_asked(plan, form) if asked and not form.wrong else None
    context: dict[str, Any] = {"changes": None}
    if ask is not None:
        after = tried(db, foresight_of(desk.request), plan, with_minutes(plan, ask))
        context = {"changes": changes(plan, after), "ask": ask, "who": plan.name_of(ask.stitcher_id)}
    return desk.page(
        "diary/what_if_minutes.html",
        "diary",
        status=422 if form.wrong else 200,
        form=form,
        stitchers=[("", "Choose who"), *((each.id, each.name) for each in plan.facts.workers)],
        weekdays=[("", "Choose a day"), *enumerate(WEEKDAYS)],
        today=desk.today,
        **context,
    )


def _minutes_asked(plan: Foreseen, form: Form) -> MoreAsk | None:
    known = {str(each.id): each for each in plan.facts.workers}
    who = form.choice("stitcher", known, called="who works more")
    weekday = form.choice("weekday", [str(number) for number in range(len(WEEKDAYS))], called="a weekday")
    minutes = form.whole("minutes", called="the minutes more", least=1, most=MOST_MINUTES)
    first = form.day("first", called="the first day")
    weeks = form.whole("weeks", called="how many weeks", least=1, most=MOST_WEEKS)
    today = plan.facts.today
    if first is not None and not today <= first <= today + FAR:
        form.fault(
            "first", f"The first day must not lie before today, {today.isoformat()}, nor more than ten years ahead."
        )
    if who and weekday and minutes and known[who].minutes[int(weekday)] + minutes > 24 * 60:
        form.fault("minutes", "That is more than a day has.")
    if form.wrong or minutes is None or first is None or weeks is None:
        return None
    return MoreAsk(known[who].id, int(weekday), minutes, first, first + weeks * 7 * A_DAY - A_DAY)


def _design(db: Reading, form: Form) -> tuple[int, Design] | None:
    if not form.raw("design"):
        if form.values:
            form.fault("design", "Choose a design.")
        return None
    number = form.number_of("design", called="a design")
    row = None if number is None else db.get(tables.Design, number)
    if row is None or number is None:
        form.fault("design", "Choose a design.")
        return None
    return number, read_design(row.document)


def _new(desk: Desk, db: Reading, plan: Foreseen, form: Form, chosen: tuple[int, Design]) -> dict[str, Any] | None:
    """The plan with one commission more; None until everything needed is chosen, with a sentence at each fault."""
    number, design = chosen
    wanted_on = form.day("wanted_on", called="the day it is wanted")
    if wanted_on is not None and not desk.today <= wanted_on <= desk.today + FAR:
        form.fault("wanted_on", "The day it is wanted must not lie before today, nor more than ten years ahead.")
    by = form.choice("by", [str(each) for each, _ in _with_hours(plan)], called="who makes it", needed=False)
    cloths = _cloths(db, form, design)
    drafted = None if form.wrong or cloths is None else _drafted(db, number, cloths, form)
    if drafted is None or cloths is None or wanted_on is None:
        return None
    after = with_new(
        db, foresight_of(desk.request), plan, new_piece(drafted, design.name, wanted_on, int(by) if by else None)
    )
    asked = {"design": number, "wanted_on": wanted_on.isoformat(), "title": design.name}
    return {
        "changes": [each for each in changes(plan, after) if each.piece.id != NEW],
        "days": after.days_of(NEW),
        "road": road_of(after, NEW),
        "design_name": design.name,
        "wanted_on": wanted_on,
        "there": urlencode({**asked, **{f"cloth.{role}": cloth for role, cloth in cloths.items()}}),
    }


def _cloths(db: Reading, form: Form, design: Design) -> dict[str, int] | None:
    """The cloths chosen by role; None while they were not yet asked for, which comes after the design."""
    if not any(f"cloth.{cloth.role}" in form.values for cloth in design.cloths):
        return None
    found: dict[str, int] = {}
    for cloth in design.cloths:
        number = form.number_of(f"cloth.{cloth.role}", called=f"a cloth for the {cloth.role}", needed=False)
        if number is None or db.get(tables.Cloth, number) is None:
            form.fault(f"cloth.{cloth.role}", f"Choose a cloth for the {cloth.role}.")
        else:
            found[cloth.role] = number
    return found


def _drafted(db: Reading, design_id: int, cloths: dict[str, int], form: Form) -> Drafted | None:
    try:
        return draft(db, design_id, cloths, {})
    except Unreadable as refused:
        for field, sentence in refused.faults.items():
            form.fault(field, sentence)
    except Wrong as wrong:
        form.fault(wrong.field.replace("cloths.", "cloth."), wrong.sentence)
    return None
