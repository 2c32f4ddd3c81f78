"""The page on which a piece is made ready to be handed over; most of it is filled in from the records."""

from collections.abc import Container, Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from fastapi import APIRouter
from fastapi.responses import Response
from sqlmodel import col, select

from service.errors import Conflict, Unreadable
from service.reckoning.sharps_out import Sharps
from service.records.db import Reading, Writing
from service.records.queries.garments import parts_of
from service.records.queries.handovers import (
    NEWEST,
    OpenCount,
    counts_told,
    handovers_of,
    open_counts,
    panels_offered,
    sharps_of,
)
from service.records.queries.needles import needles_and_pins, needles_out, open_needles
from service.records.tables import Cloth, Garment, Handover, HandoverPlace, Panel, Section, Stitcher
from service.records.tables.handovers import MOST_BUNDLES_TENTHS, MOST_SHARP
from service.studio.handovers import Offer, Tools, offer_or_pass_on
from service.studio.odd import odd_of
from service.studio.sign_in import Person
from service.studio.stopping import SectionLeft, place_row, sections_left, to_be_written_down
from service.studio.travelling import said_otherwise
from service.web.deps import Desk, Id, Now, Reads, SignedIn, SignedInDesk, Writes
from service.web.forms import Form, Typed
from service.web.handover_words import StoppedPlace
from service.web.papers import seen_garment

router = APIRouter(include_in_schema=False, prefix="/garments")
TO_THE_SHELF = "shelf"
MATERIALS = range(1, 6)
GONE = ("delivered", "called off")
MOST_BUNDLES = MOST_BUNDLES_TENTHS / 10


@dataclass(frozen=True, slots=True)
class Ready:
    """What can be handed over of a garment: the panels, and where their sections stopped."""

    garment: Garment
    panels: tuple[Panel, ...]
    places: tuple[SectionLeft, ...]


@router.get("/{garment_id}/give")
def show_giving(desk: SignedInDesk, person: SignedIn, db: Reads, garment_id: Id) -> Response:
    ready = _ready(db, person, seen_garment(db, person, garment_id))
    return _page(desk, person, db, ready, Form(_filled_in(db, ready)))


@router.post("/{garment_id}/give")
def give_panels(desk: SignedInDesk, person: SignedIn, form: Typed, db: Writes, at: Now, garment_id: Id) -> Response:
    ready = _ready(db, person, seen_garment(db, person, garment_id))
    asked = _asked(form, ready)
    _ask_for_the_rest(db, person, form, asked)
    handover = None if form.wrong else _offered(db, person, form, asked, at)
    if handover is not None:
        return desk.go(f"/handovers/{handover.id}")
    db.rollback()
    ready = _ready(db, person, seen_garment(db, person, garment_id))
    return _page(desk, person, db, ready, form, 422)


def handed_over(db: Reading, person: Person, garment: Garment, panels: Iterable[Panel]) -> dict[str, Any]:
    """What a garment's page tells of handing over: what is offered, who held it when, and what is missing."""
    assert garment.id is not None
    rows, sharps = handovers_of(db, garment.id), sharps_of(db, garment.id)
    offered = panels_offered(db, garment.id) if rows else {}
    told = counts_told(rows, sharps) if len(rows) < NEWEST else open_counts(db, garment.id)
    short = [OpenCount(each.words) for each in open_needles(db, garment.id) if not each.is_sitting]
    return {
        "may_give": garment.state not in GONE and bool(_still_hers(person, panels, offered)),
        "offers": [row for row in rows if row.state == "offered"],
        "handovers": [row for row in rows if row.state != "offered"],
        "open_counts": [*told, *short],
    }


def _ready(db: Reading | Writing, person: Person, garment: Garment) -> Ready:
    panels = _giveable(db, person, garment)
    left = sections_left(db, garment, {panel.id for panel in panels if panel.id is not None})
    return Ready(garment, tuple(panels), tuple(to_be_written_down(left)))


def _giveable(db: Reading | Writing, person: Person, garment: Garment) -> list[Panel]:
    if garment.state in GONE:
        return []
    assert garment.id is not None
    offered = panels_offered(db, garment.id)
    panels = db.exec(select(Panel).where(Panel.garment_id == garment.id).order_by(col(Panel.position)))
    return _still_hers(person, panels, offered)


def _still_hers(person: Person, panels: Iterable[Panel], offered: Container[int | None]) -> list[Panel]:
    hers = [panel for panel in panels if person.is_owner or panel.holder_id == person.stitcher_id]
    return [panel for panel in hers if panel.id not in offered]


def _filled_in(db: Reading, ready: Ready) -> dict[str, str]:
    """What is known from the records; needles and pins are never filled in, because they are counted."""
    values: dict[str, str] = {}
    for left in ready.places:
        last = _last_place(db, left.section)
        values[f"thread-{left.section.id}"] = (last.thread if last else "") or left.section.thread
        values[f"needle-{left.section.id}"] = last.needle if last else ""
    threads = dict.fromkeys(left.section.thread for left in ready.places if left.section.thread)
    cloths = dict.fromkeys(db.get_one(Cloth, panel.cloth_id).name for panel in ready.panels)
    travels = [*threads, *(f"Spare cloth for a sample row: {name}" for name in cloths)]
    values |= {f"what-{at}": what for at, what in zip(MATERIALS, travels, strict=False)}
    values["odd"] = " ".join(odd_of(db, ready.garment, [left.section for left in ready.places]))
    return values


def _last_place(db: Reading, section: Section) -> HandoverPlace | None:
    found = select(HandoverPlace).where(HandoverPlace.section_id == section.id).order_by(col(HandoverPlace.id).desc())
    return db.exec(found.limit(1)).first()


def _asked(form: Form, ready: Ready) -> Offer:
    """The offer as it was typed; its faults are in the form."""
    assert ready.garment.id is not None
    joined = ready.garment.joined_at is not None
    chosen = {
        int(text) for text in form.lists.get("panels", []) if text.isascii() and text.isdigit() and len(text) < 10
    }
    if not chosen and not joined:
        form.fault("panels", "Choose what is handed over.")
    to = None if form.raw("to") == TO_THE_SHELF else form.number_of("to", called="whose hands")
    needles = form.whole("needles_out", called="how many needles go with it", most=MOST_SHARP)
    pins = form.whole("pins_out", called="how many pins go with it", most=MOST_SHARP)
    odd = form.text("odd", called="what was odd", most=2000, needed=False)
    rest = form.text("rest", called="where the others are", most=1000, needed=False)
    return Offer(
        ready.garment.id,
        to,
        frozenset() if joined else frozenset(chosen),
        needles_out=needles or 0,
        pins_out=pins or 0,
        notes=form.text("notes", called="the notes", most=2000, needed=False),
        tension=form.text("tension", called="how firm the thread is drawn", most=200, needed=False),
        bundles_tenths=both_tenths(form, "given_first", "given_second"),
        odd="\n".join(filter(None, (odd, rest))),
        materials=tuple(pair for at in MATERIALS if (pair := _material(form, at))[0]),
        tools={left.section.id: _tools(form, left.section.id) for left in ready.places if left.section.id is not None},
    )


def _ask_for_the_rest(db: Reading | Writing, person: Person, form: Form, asked: Offer) -> None:
    """Ask where needles and pins are that are out in her name and do not go with the piece, unless she says."""
    going = Sharps(asked.needles_out, asked.pins_out)
    told = not form.wrong and not form.raw("rest") and said_otherwise(db, person, asked.garment_id, going)
    if told:
        form.fault("needles_out", told)


def both_tenths(form: Form, first: str, second: str, *, needed: bool = False) -> tuple[int, int] | None:
    """Bundles on 50 mm at two places, in tenths: both, or neither where nothing is needed."""
    typed = [
        form.decimal(field, called="bundles on 50 mm", most=MOST_BUNDLES, above=True, needed=needed)
        for field in (first, second)
    ]
    if typed[0] is None or typed[1] is None:
        if any(value is not None for value in typed):
            form.fault(second if typed[1] is None else first, "Count at both places, or leave both empty.")
        return None
    return _tenths(typed[0]), _tenths(typed[1])


def _tenths(value: Decimal) -> int:
    return max(1, int((value * 10).to_integral_value()))


def _material(form: Form, at: int) -> tuple[str, str]:
    return (
        form.text(f"what-{at}", called="what travels", needed=False),
        form.text(f"amount-{at}", called="how much of it", most=80, needed=False),
    )


def _tools(form: Form, section_id: int) -> Tools:
    return Tools(
        form.text(f"thread-{section_id}", called="the thread", needed=False),
        form.text(f"needle-{section_id}", called="the needle", needed=False),
    )


def _offered(db: Writing, person: Person, form: Form, asked: Offer, at: datetime) -> Handover | None:
    """Offer it, or say at its field why not."""
    try:
        return offer_or_pass_on(db, person, asked, at)
    except Unreadable as refused:
        for field, sentence in refused.faults.items():
            form.fault(field, sentence)
    except Conflict as refused:
        form.fault("", refused.sentence)
    return None


def _page(desk: Desk, person: Person, db: Any, ready: Ready, form: Form, status: int = 200) -> Response:
    garment = ready.garment
    out = needles_out(db, person.id, garment.id or 0).open
    parts = parts_of(db, garment.id or 0)
    names = {panel.id: panel.name for panel in parts.panels}
    found = select(Stitcher.id, Stitcher.name).where(col(Stitcher.left_on).is_(None)).order_by(col(Stitcher.name))
    places = [
        StoppedPlace(place_row(left), left.section, left.in_hand, names.get(left.section.panel_id, ""))
        for left in ready.places
    ]
    return desk.page(
        "handovers/give.html",
        "table",
        status=status,
        form=form,
        garment=garment,
        panels=ready.panels,
        holders=parts.holders,
        places=places,
        out=needles_and_pins(out.needles, out.pins),
        materials=MATERIALS,
        receivers=[("", "Choose whose hands"), *db.exec(found), (TO_THE_SHELF, "nobody’s: on the shelf")],
    )
