"""The page of one handover: read it, count in and take it, send it back, work the sample row, find what is missing."""

from collections.abc import Callable
from typing import Any

from fastapi import APIRouter, Depends
from fastapi.responses import Response
from sqlmodel import select

from service.errors import Conflict, NotFound, Unreadable
from service.languages.spoken import said
from service.reckoning.sharps_out import Sharps
from service.records.db import Reading, Writing
from service.records.queries.handovers import handover_row, open_counts, sharps_of
from service.records.queries.needles import in_her_name, needles_out, open_needles
from service.records.queries.standing import is_seen_by
from service.records.tables import BrokenSharp, Garment, Handover, HandoverMaterial, Panel, Section, Step
from service.records.tables.handovers import MOST_SHARP, SHARP_THINGS
from service.studio.handovers import (
    CountedIn,
    check_may_take,
    handover_with,
    is_party,
    may_take,
    panel_ids_of,
    send_back,
    take,
)
from service.studio.samples import Bundles, keep_sample, tension_of
from service.studio.sharps import Found, all_of_it_found, find_missing, tell_broken
from service.studio.sign_in import Person
from service.studio.stopping import places_now
from service.studio.travelling import NOTHING_OUT, count_in, may_count_in
from service.web.deps import Desk, Id, Now, Reads, SignedIn, SignedInDesk, Writes
from service.web.forms import Form, Typed
from service.web.handing_over import both_tenths
from service.web.handover_sheet import sheet_of
from service.web.handover_words import StoppedPlace
from service.web.learning import learning_here, learning_of
from service.web.paper_pages import print_paper, show_paper
from service.web.papers import seen_garment

router = APIRouter(include_in_schema=False)
NOT_SEEN = "There is no such handover among those you may see."


@router.get("/handovers/{handover_id}")
def show_handover(desk: SignedInDesk, person: SignedIn, db: Reads, handover_id: Id) -> Response:
    return _page(desk, person, db, handover_id, Form())


@router.post("/handovers/{handover_id}/take")
def take_piece(desk: SignedInDesk, person: SignedIn, form: Typed, db: Writes, at: Now, handover_id: Id) -> Response:
    check_may_take(db, person, _seen(db, person, handover_id))
    needles = form.whole("needles_in", called="how many needles you counted", most=MOST_SHARP)
    pins = form.whole("pins_in", called="how many pins you counted", most=MOST_SHARP)
    counted = CountedIn(needles or 0, pins or 0)
    return _acted(desk, person, form, db, handover_id, lambda: take(db, person, handover_id, counted, at))


@router.post("/handovers/{handover_id}/send-back")
def send_piece_back(
    desk: SignedInDesk, person: SignedIn, form: Typed, db: Writes, at: Now, handover_id: Id
) -> Response:
    _seen(db, person, handover_id)
    why = form.text("reason", called="why, in a few words", most=1000)
    return _acted(desk, person, form, db, handover_id, lambda: send_back(db, person, handover_id, why, at))


@router.post("/handovers/{handover_id}/sample")
def add_sample(desk: SignedInDesk, person: SignedIn, form: Typed, db: Writes, at: Now, handover_id: Id) -> Response:
    _seen(db, person, handover_id)
    bundles = Bundles(*(both_tenths(form, "sample_first", "sample_second", needed=True) or (0, 0)))
    return _acted(desk, person, form, db, handover_id, lambda: keep_sample(db, person, handover_id, bundles, at))


@router.post("/handovers/{handover_id}/found")
def add_found(desk: SignedInDesk, person: SignedIn, form: Typed, db: Writes, at: Now, handover_id: Id) -> Response:
    _seen(db, person, handover_id)
    needles = form.whole("needles_found", called="needles found", most=MOST_SHARP, needed=False)
    pins = form.whole("pins_found", called="pins found", most=MOST_SHARP, needed=False)
    found = Found(needles or 0, pins or 0, form.text("found_note", called="where it was found", most=1000))
    return _acted(desk, person, form, db, handover_id, lambda: find_missing(db, person, handover_id, found, at))


@router.get("/handovers/{handover_id}/sheet", dependencies=[Depends(learning_here)])
def show_sheet(desk: SignedInDesk, person: SignedIn, db: Reads, handover_id: Id) -> Response:
    handover = _seen(db, person, handover_id)
    paper = sheet_of(desk, db, handover, learning_of(desk.request))
    return show_paper(desk, paper, f"/handovers/{handover_id}/sheet", (f"/handovers/{handover_id}", "The handover"))


@router.get("/handovers/{handover_id}/sheet.pdf", dependencies=[Depends(learning_here)])
def print_sheet(desk: SignedInDesk, person: SignedIn, db: Reads, handover_id: Id, paper: str = "a4") -> Response:
    handover = _seen(db, person, handover_id)
    return print_paper(sheet_of(desk, db, handover, learning_of(desk.request)), paper, f"handover-sheet-{handover_id}")


@router.get("/garments/{garment_id}/sharps")
def show_sharps(desk: SignedInDesk, person: SignedIn, db: Reads, garment_id: Id) -> Response:
    return _sharps_page(desk, person, db, _garment_to_count(db, person, garment_id), Form())


@router.post("/garments/{garment_id}/sharps")
def add_broken(desk: SignedInDesk, person: SignedIn, form: Typed, db: Writes, at: Now, garment_id: Id) -> Response:
    garment = seen_garment(db, person, garment_id)
    kind = form.choice("kind", SHARP_THINGS, called="whether it was a needle or a pin")
    note = form.text("note", called="what happened", most=1000)
    broken = BrokenSharp(garment_id=garment_id, kind=kind, told_by=person.id, told_at=at, note=note)
    return _acted_on_sharps(desk, person, form, db, garment, lambda: tell_broken(db, person, broken))


@router.post("/garments/{garment_id}/sharps/in")
def count_sharps_in(desk: SignedInDesk, person: SignedIn, form: Typed, db: Writes, at: Now, garment_id: Id) -> Response:
    garment = _garment_to_count(db, person, garment_id)
    whose = form.number_of("whose", called="whose needles and pins these are") or 0
    if whose not in {0, person.id} and not _is_in_her_hands(db, person, garment):
        raise NotFound(NOTHING_OUT)  # nor is she told whether something is
    fields = {"needles": f"needles-{whose}", "pins": f"pins-{whose}"}
    needles = form.whole(fields["needles"], called="how many needles you counted", most=MOST_SHARP)
    pins = form.whole(fields["pins"], called="how many pins you counted", most=MOST_SHARP)

    def count() -> None:
        try:
            count_in(db, person, garment_id, whose, Sharps(needles or 0, pins or 0), at)
        except Unreadable as refused:
            raise Unreadable({fields[field]: sentence for field, sentence in refused.faults.items()}) from refused

    return _acted_on_sharps(desk, person, form, db, garment, count)


@router.post("/garments/{garment_id}/sharps/{broken_id}/found")
def find_broken(
    desk: SignedInDesk, person: SignedIn, form: Typed, db: Writes, at: Now, garment_id: Id, broken_id: Id
) -> Response:
    garment = seen_garment(db, person, garment_id)
    note = form.text("found_note", called="where the parts are kept", most=1000)
    broken = db.get(BrokenSharp, broken_id)
    if broken is None or broken.garment_id != garment_id:
        raise NotFound("There is no such needle or pin at this garment.")
    return _acted_on_sharps(desk, person, form, db, garment, lambda: all_of_it_found(db, person, broken_id, note, at))


def _garment_to_count(db: Reading | Writing, person: Person, garment_id: int) -> Garment:
    """The garment, for whoever may see it or has needles or pins out on it: those are hers to count in."""
    garment, hers = db.get(Garment, garment_id), in_her_name(db, person.id, garment_id)
    if garment is None or hers is None or _is_in_her_hands(db, person, garment):
        return seen_garment(db, person, garment_id)
    if not hers.needles + hers.pins:
        raise NotFound(NOTHING_OUT)
    return garment


def _is_in_her_hands(db: Reading | Writing, person: Person, garment: Garment) -> bool:
    assert garment.id is not None
    return person.is_owner or is_seen_by(db, garment.id, person.stitcher_id)


def _seen(db: Reading | Writing, person: Person, handover_id: int) -> Handover:
    """The handover; unknown to whoever has no part in it."""
    handover = handover_with(db, handover_id)
    if not is_party(db, person, handover):
        raise NotFound(NOT_SEEN)
    return handover


def _acted(
    desk: Desk, person: Person, form: Form, db: Writing, handover_id: int, act: Callable[[], object]
) -> Response:
    """Do it and go back to the page; what is refused is said on the page, and nothing of it is kept."""
    if _is_done(form, act):
        return desk.go(f"/handovers/{handover_id}")
    db.rollback()
    return _page(desk, person, db, handover_id, form, 422)


def _acted_on_sharps(
    desk: Desk, person: Person, form: Form, db: Writing, garment: Garment, act: Callable[[], object]
) -> Response:
    number = garment.id
    if _is_done(form, act):
        assert number is not None
        stays = _is_in_her_hands(db, person, garment) or needles_out(db, person.id, number).open
        return desk.go(f"/garments/{number}/sharps" if stays else "/")
    db.rollback()
    return _sharps_page(desk, person, db, db.get_one(Garment, number), form, 422)


def _is_done(form: Form, act: Callable[[], object]) -> bool:
    if form.wrong:
        return False
    try:
        act()
    except Unreadable as refused:
        for field, sentence in refused.faults.items():
            form.fault(field, sentence)
    except Conflict as refused:
        form.fault("", refused.sentence)
    return not form.wrong


def _page(desk: Desk, person: Person, db: Any, handover_id: int, form: Form, status: int = 200) -> Response:
    handover = _seen(db, person, handover_id)
    row = handover_row(db, handover_id)
    assert row is not None
    materials = select(HandoverMaterial).where(HandoverMaterial.handover_id == handover_id)
    return desk.page(
        "handovers/handover.html",
        "table",
        status=status,
        form=form,
        row=row,
        handover=handover,
        places=places_of(db, handover),
        materials=db.exec(materials).all(),
        finding=tension_of(handover),
        may_take=handover.state == "offered" and may_take(db, person, handover),
        may_sample=handover.state == "taken" and (person.is_owner or person.stitcher_id == handover.to_id),
    )


def places_of(db: Reading | Writing, handover: Handover) -> list[StoppedPlace]:
    """Where the sections stopped, with their names."""
    garment = db.get_one(Garment, handover.garment_id)
    names = {panel.id: panel.name for panel in db.exec(select(Panel).where(Panel.garment_id == garment.id))}
    found = []
    for place in places_now(db, garment, handover, panel_ids_of(db, handover)):
        section, step = db.get_one(Section, place.section_id), db.get_one(Step, place.step_id)
        found.append(StoppedPlace(place, section, step, names.get(section.panel_id, said("the joined garment"))))
    return found


def _sharps_page(desk: Desk, person: Person, db: Any, garment: Garment, form: Form, status: int = 200) -> Response:
    """The page; to whoever has nothing of the garment in her hands it shows only what is out in her name."""
    assert garment.id is not None
    is_hers = _is_in_her_hands(db, person, garment)
    out = [each for each in open_needles(db, garment.id) if is_hers or each.account_id == person.id]
    return desk.page(
        "handovers/sharps.html",
        "table",
        status=status,
        form=form,
        garment=garment,
        is_hers=is_hers,
        sharps=sharps_of(db, garment.id) if is_hers else [],
        open_counts=open_counts(db, garment.id) if is_hers else [],
        out=out,
        hers={each.account_id for each in out if may_count_in(person, each)},
        kinds=[(kind, {"needle": "A needle", "pin": "A pin"}[kind]) for kind in SHARP_THINGS],
    )
