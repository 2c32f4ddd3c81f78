"""Needles and pins that are missing, broken or found again. Until all are accounted for a garment is not finished."""

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import col, select

from service.errors import Conflict, NotAllowed, NotFound, Unreadable
from service.records.db import Reading, Writing
from service.records.queries.handovers import missing_words
from service.records.queries.standing import is_seen_by
from service.records.tables import Account, BrokenSharp, Event, Handover
from service.records.tables.handovers import MOST_SHARP, SHARP_THINGS
from service.studio.handovers import check_is_party, handover_with
from service.studio.sign_in import Person
from service.studio.standing import locked_garment

FOUND, BROKEN = "found again", "a needle or pin broke"


@dataclass(frozen=True, slots=True)
class Found:
    """Needles and pins of a handover that turned up, and where."""

    needles: int
    pins: int
    note: str


def find_missing(db: Writing, person: Person, handover_id: int, found: Found, at: datetime) -> Handover:
    """Write down that missing needles or pins of a handover were found, and where."""
    locked_garment(db, handover_with(db, handover_id).garment_id)
    handover = db.get_one(Handover, handover_id, populate_existing=True)
    check_is_party(db, person, handover)
    _check_found(handover, found)
    handover.needles_found += found.needles
    handover.pins_found += found.pins
    db.add(handover)
    words = f"{missing_words(found.needles, found.pins)}: {found.note.strip()}"
    _keep(db, person, _Told(handover.garment_id, FOUND, "handover", handover_id, words), at)
    return handover


def tell_broken(db: Writing, person: Person, broken: BrokenSharp) -> BrokenSharp:
    """Write down a needle or pin that broke or was lost at a garment, by whoever has it in her hands, or the owner."""
    garment = locked_garment(db, broken.garment_id)
    assert garment.id is not None
    if not person.is_owner and not is_seen_by(db, garment.id, person.stitcher_id):
        raise NotAllowed("This piece is not in your hands.")
    if garment.state in {"delivered", "called off"}:
        raise Conflict(f"This garment is {garment.state}; it is not in the studio any more.")
    if broken.kind not in SHARP_THINGS:
        raise Unreadable({"kind": "Say whether it was a needle or a pin."})
    db.add(broken)
    db.flush()
    assert broken.id is not None
    told = _Told(garment.id, BROKEN, "broken_sharp", broken.id, broken.note)
    _keep(db, person, told, broken.told_at)
    return broken


def all_of_it_found(db: Writing, person: Person, broken_id: int, note: str, at: datetime) -> BrokenSharp:
    """Write down that every fragment is found and taped to the record; seen by a second person where there is one."""
    broken = db.get(BrokenSharp, broken_id)
    if broken is None:
        raise NotFound("There is no such broken needle or pin.")
    locked_garment(db, broken.garment_id)
    db.refresh(broken)
    if not person.is_owner and not is_seen_by(db, broken.garment_id, person.stitcher_id):
        raise NotAllowed("This piece is not in your hands.")
    if broken.found_at is not None:
        raise Conflict("All of it was found already.")
    if broken.told_by == person.id and _is_another_here(db, person):
        raise NotAllowed("A second person must see that all of it is there. Ask somebody else to look and sign.")
    if not note.strip():
        raise Unreadable({"found_note": "Say where the parts are kept."})
    broken.found_at, broken.found_by, broken.found_note = at, person.id, note.strip()
    db.add(broken)
    _keep(db, person, _Told(broken.garment_id, FOUND, "broken_sharp", broken_id, broken.found_note), at)
    return broken


@dataclass(frozen=True, slots=True)
class _Told:
    garment_id: int
    action: str
    object_kind: str
    object_id: int
    reason: str


def _keep(db: Writing, person: Person, told: _Told, at: datetime) -> None:
    event = Event(at=at, action=told.action, object_kind=told.object_kind, object_id=told.object_id)
    event.account_id, event.garment_id, event.reason = person.id, told.garment_id, told.reason
    db.add(event)


def _check_found(handover: Handover, found: Found) -> None:
    if handover.needles_in is None or handover.pins_in is None:
        raise Conflict("It is not taken yet, so nothing is missing from it.")
    needles = handover.needles_out - handover.needles_in - handover.needles_found
    pins = handover.pins_out - handover.pins_in - handover.pins_found
    faults = {}
    for field, number, missing in (("needles_found", found.needles, needles), ("pins_found", found.pins, pins)):
        if not 0 <= number <= MOST_SHARP:
            faults[field] = f"Count from 0 to {MOST_SHARP}."
        elif number > missing:
            faults[field] = f"Only {missing} {'is' if missing == 1 else 'are'} missing."
    if not faults and not found.needles + found.pins:
        faults["needles_found"] = "Say how many were found."
    if not found.note.strip():
        faults["found_note"] = "Say where it was found."
    if faults:
        raise Unreadable(faults)


def _is_another_here(db: Reading | Writing, person: Person) -> bool:
    found = select(Account.id).where(col(Account.active), Account.id != person.id).limit(1)
    return db.exec(found).first() is not None
