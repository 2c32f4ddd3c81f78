"""The work table: where each piece stands, those that need a hand first before the others."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache, partial
from typing import Annotated, Any

from fastapi import APIRouter, Depends
from fastapi.responses import Response
from markupsafe import Markup
from sqlmodel import col, select

from service.drawing.chance import DOUBTFUL, UNSURE
from service.languages.spoken import language_now, units_now
from service.reckoning.hours_left import HoursLeft
from service.records.db import Reading
from service.records.queries.drawn import drawn_rows
from service.records.queries.handovers import not_settled
from service.records.queries.out_elsewhere import MissingOn, OutElsewhere, missing_anywhere, out_elsewhere
from service.records.queries.standing import (
    OVER,
    SHELF,
    After,
    Standing,
    Wanted,
    garments_over,
    next_operations,
    open_garments,
)
from service.records.tables import Commission, Garment, Stitcher
from service.records.unchanged import while_unchanged
from service.studio.diary import Foreseen, PieceDays
from service.studio.moving import ONCE
from service.studio.needle_time import needle_seconds_today
from service.studio.next_step import as_hers
from service.studio.sign_in import Person
from service.web import manner
from service.web.changed import changed_for
from service.web.deps import Desk, Reads, SignedInDesk
from service.web.drawn import small_drawing
from service.web.first_steps import first_way
from service.web.foreseeing import PlanHere
from service.web.learning import learning_here, learning_of
from service.web.render import render
from service.web.table_words import needle_time
from service.web.words import operation

router = APIRouter(include_in_schema=False)
SOON = timedelta(days=3)
ON_THE_SHELF = "shelf"
LONGEST_ID = 10
LINES_KEPT = 400  # eight pages; each weighs some 10 kB with what it is kept by


@dataclass(frozen=True, slots=True)
class Row:
    """One piece as the ledger writes it: `hurry` is a word when it needs a hand now, `at_table` whether its next step
    is counted at the table by whoever looks.
    """

    piece: Standing
    drawing: Markup
    left: HoursLeft | None = None
    hurry: str = ""
    days: PieceDays | None = None
    at_table: bool = False


@dataclass(frozen=True, slots=True)
class Asked:
    """What the list was asked for, as typed."""

    q: str = ""
    hands: str = ""
    waits: str = ""
    state: str = ""

    @property
    def narrowed(self) -> bool:
        """Whether anything is looked for."""
        return bool(self.q.strip() or self.hands or self.waits)


def asked_for(q: str = "", hands: str = "", waits: str = "", state: str = "") -> Asked:
    """What the address asks for, whatever is no choice left out."""
    known = hands if _number(hands) is not None else ""
    return Asked(q[:200], known, waits[:40], state if state in OVER else "")


@router.get("/", dependencies=[Depends(learning_here)])
def show_work_table(
    desk: SignedInDesk,
    db: Reads,
    plan: PlanHere,
    asked: Annotated[Asked, Depends(asked_for)],
    after: str = "",
) -> Response:
    person = desk.person
    assert person is not None
    learning, today = learning_of(desk.request), desk.today
    if not person.is_owner:
        asked = replace(asked, hands="", waits="")
    wanted = _wanted(person, asked)
    listed = garments_over if asked.state else open_garments
    pieces, more = listed(db, wanted, _after(after, asked))
    unforeseen = dict.fromkeys(plan.days_of(piece.id).why_not for piece in pieces)
    left = {} if asked.state else learning.hours_left(db, [piece.id for piece in pieces])
    way = None if asked.narrowed or asked.state else first_way(desk.request, db, person)
    whole = not (desk.wants_block or asked.narrowed or asked.state or after)
    empty = _empty(db, person) if not pieces and not asked.narrowed and not asked.state else None
    return desk.page(
        "garments/work_table.html",
        "table",
        block="found",
        rows=_rows(desk, db, as_hers(db, person, pieces), left, None if asked.state else plan),
        line=partial(
            _line,
            state=asked.state,
            today=today,
            written=f"{language_now()} {manner.locale_now()} {units_now()}",
            for_owner=person.is_owner,
        ),
        unforeseen=[] if asked.state else [why for why in unforeseen if why],
        mostly_guesses=bool(pieces) and learning.newest(db).mostly_guesses,
        further=_mark(pieces[-1], asked) if more else "",
        asked=asked,
        over=OVER,
        today=today,
        needle_time=needle_time(needle_seconds_today(db, person.id, datetime.now(UTC))),
        empty=empty,
        first_way=way,
        changed=changed_for(db, person, datetime.now(UTC)) if whole else None,
        any_garment=empty is None or _is_any_garment(db),
        still_out=[] if asked.state else _sharps_told(db, person),
        between_hands=() if asked.state else not_settled(db, None if person.is_owner else person.stitcher_id),
        **_filters(db, person, wanted, asked),
    )


@lru_cache(maxsize=LINES_KEPT)
def _line(row: Row, *, state: str, today: date, written: str, for_owner: bool) -> Markup:
    """One line, written once for as long as all that it says stays the same, in the studio's manner of writing."""
    del written
    said = {"row": row, "state": state, "today": today, "for_owner": for_owner}
    return Markup(render("garments/work_line.html", said))  # noqa: S704 (a template of our own, all escaped)


def _wanted(person: Person, asked: Asked) -> Wanted:
    return Wanted(
        **({"states": (asked.state,)} if asked.state else {}),
        words=asked.q,
        clients=person.is_owner,
        seen_by=None if person.is_owner else (person.stitcher_id or SHELF),
        held_by=_number(asked.hands),
        operation=asked.waits,
    )


def _number(hands: str) -> int | None:
    if hands == ON_THE_SHELF:
        return SHELF
    return int(hands) if hands.isascii() and hands.isdigit() and len(hands) < LONGEST_ID else None


def _sharps_told(db: Reading, person: Person) -> Sequence[MissingOn | OutElsewhere]:
    """What is missing on any piece, for the owner; for a stitcher what is out in her name on what she gave away."""
    return missing_anywhere(db) if person.is_owner else out_elsewhere(db, person.id, person.stitcher_id)


def _filters(db: Reading, person: Person, wanted: Wanted, asked: Asked) -> dict[str, Any]:
    """What the owner may narrow the list by: whose hands; what the pieces wait for, while open."""
    if not person.is_owner:
        return {"hands_options": [], "waits_options": []}
    everything = Wanted(wanted.states, seen_by=wanted.seen_by)
    hands = [("", "anybody’s"), (ON_THE_SHELF, "nobody’s: on the shelf"), *_those_here(db)]
    waits = [] if asked.state else [(word, operation(word)) for word in next_operations(db, everything)]
    return {"hands_options": hands, "waits_options": [("", "anything"), *waits] if waits else []}


@while_unchanged
def _those_here(db: Reading) -> list[tuple[int | None, str]]:
    found = select(Stitcher.id, Stitcher.name).where(col(Stitcher.left_on).is_(None)).order_by(col(Stitcher.name))
    return [(number, name) for number, name in db.exec(found)]


def _rows(
    desk: Desk, db: Reading, pieces: list[Standing], left: dict[int, HoursLeft], plan: Foreseen | None
) -> list[Row]:
    """The lines of the ledger; of pieces that are over there is no plan."""
    today = desk.today
    drawn = drawn_rows(db, (piece.id for piece in pieces))
    rows = []
    for piece in pieces:
        days = None if plan is None else plan.days_of(piece.id)
        hurry = "" if days is None else hurry_of(piece, today, days.chance)
        hand = piece.next_step.section_id if hurry and piece.next_step else None
        drawing = small_drawing(drawn[piece.id], piece.name, f"piece-{piece.id}", hand)
        at_table = counted_at_table(piece, desk.person)
        rows.append(Row(piece, drawing, left.get(piece.id), hurry, days, at_table))
    return rows


def counted_at_table(piece: Standing, person: Person | None) -> bool:
    """Whether the next step of a piece is one to be counted at the table by this person, in whose hands it is."""
    if piece.next_step is None or piece.next_step.unit in ONCE or person is None:
        return False
    return not person.is_owner or piece.on_shelf or person.name in piece.hands


def hurry_of(piece: Standing, today: date, chance: float | None) -> str:
    """A word when a piece needs a hand now: its chance is poor, or while nothing is foreseen its time runs out."""
    if piece.left_ms == 0:
        return "Finish it now" if piece.wanted_on <= today + SOON else ""
    if piece.wanted_on < today:
        return "Late"
    if chance is None:
        chance = 0 if piece.start_by < today else DOUBTFUL if piece.start_by <= today + SOON else 1
    if chance < DOUBTFUL:
        return "Likely late"
    return "Needs a hand now" if chance < UNSURE else ""


def _mark(piece: Standing, asked: Asked) -> str:
    moment = piece.over_at if asked.state else piece.start_by
    assert moment is not None
    return f"{moment.isoformat()},{piece.id}"


def _after(text: str, asked: Asked) -> After | None:
    moment, _, number = text.partition(",")
    try:
        if asked.state:
            return After(datetime.fromisoformat(moment).astimezone(UTC), int(number[:9]))
        return After(date.fromisoformat(moment), int(number[:9]))
    except (ValueError, OverflowError):
        return None


def _is_any_garment(db: Reading) -> bool:
    return db.exec(select(Garment.id).limit(1)).first() is not None


def _empty(db: Reading, person: Person) -> tuple[str, str, str]:
    """What belongs here while there is nothing, and the one thing to do next: its address and words."""
    if not person.is_owner:
        return ("Here stand the pieces in your hands. The owner gives them to you.", "", "")
    is_open = col(Commission.state).in_(("asked", "quoted", "agreed"))
    found = db.exec(
        select(Commission.id, Commission.title).where(is_open).order_by(col(Commission.wanted_on)).limit(1)
    ).first()
    if found is None:
        return ("A garment is made for a commission.", "/commissions/new", "Write down a commission")
    return ("No piece is being made just now.", f"/commissions/{found[0]}/make", f"Make a garment for {found[1]}")
