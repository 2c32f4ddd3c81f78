"""Where something went wrong with a band: the trouble is named, the ways out stand side by side, one is taken."""

from fastapi import APIRouter
from fastapi.responses import Response

from service.errors import Conflict, NotAllowed, Unreadable
from service.reckoning.operations import operation_named
from service.reckoning.rescue import TROUBLES, Trouble, Way, WayName, cautions
from service.records.db import Reading, Writing
from service.records.tables import Garment
from service.studio.quotes import Foresight
from service.studio.rescue import Offered, band_with, offered_ways, take_way, trouble_named
from service.studio.sign_in import Person
from service.web.amount_words import counted
from service.web.deps import Desk, Id, Now, Reads, SignedIn, SignedInDesk, Writes
from service.web.forms import Form, Typed
from service.web.money_words import money
from service.web.quoting import ForesightHere

router = APIRouter(include_in_schema=False, prefix="/sections")
TROUBLE_WORDS: dict[Trouble, str] = {
    "working thread broken": "the working thread broke",
    "broken in withdrawing": "a thread broke while it was withdrawn",
    "clipped wrongly": "a thread was clipped that should have stayed",
    "standing thread cut": "a standing thread is cut",
    "shrunk": "the cloth has shrunk",
    "grown": "the child has grown",
    "stained": "it is stained",
}
WAY_WORDS: dict[WayName, str] = {
    "join on": "Join a new thread on",
    "take up again": "Take the thread up again",
    "reweave": "Weave a thread in",
    "widen": "Make the band wider",
    "move the stop line": "Move the stop line",
    "smaller bundle": "A smaller bundle",
    "another kind": "Work it as another kind",
    "bind instead": "Bind it instead",
    "let a tuck down": "Let a tuck down",
    "wash": "Wash it",
    "cover with a motif": "Cover it with a motif",
    "new panel": "Begin the panel again",
}
A_LITTLE = 0.05


@router.get("/{section_id}/rescue")
def show_ways(
    desk: SignedInDesk, person: SignedIn, db: Reads, foresight: ForesightHere, section_id: Id, trouble: str = ""
) -> Response:
    return _page(desk, person, db, section_id, (Form({"trouble": trouble}), foresight))


@router.post("/{section_id}/rescue")
def take(
    desk: SignedInDesk,
    person: SignedIn,
    form: Typed,
    foresight: ForesightHere,
    db: Writes,
    at: Now,
    section_id: Id,
) -> Response:
    reason = form.text("reason", called="what happened", most=1000)
    way = form.text("way", called="a way out")
    section = band_with(db, person, section_id)
    if not form.wrong:
        try:
            take_way(db, person, section_id, (trouble_named(form.raw("trouble")), way, reason), at)
        except Unreadable as refused:
            form.errors = dict(refused.faults)
        except (Conflict, NotAllowed) as refused:
            form.fault("", refused.sentence)
    if form.wrong:
        db.rollback()
        return _page(desk, person, db, section_id, (form, foresight), 422)
    return desk.go(f"/garments/{section.garment_id}#section-{section_id}")


def _page(
    desk: Desk,
    person: Person,
    db: Reading | Writing,
    section_id: int,
    told: tuple[Form, Foresight],
    status: int = 200,
) -> Response:
    form, foresight = told
    section = band_with(db, person, section_id)
    trouble = next((one for one in TROUBLES if one == form.raw("trouble")), None)
    offered = [] if trouble is None else offered_ways(db, person, section_id, trouble, foresight)
    return desk.page(
        "garments/rescue.html",
        "table",
        status=status,
        form=form,
        section=section,
        garment=db.get_one(Garment, section.garment_id),
        trouble=trouble,
        troubles=list(TROUBLE_WORDS.items()),
        offered=[(one, _hours(one), _price(one, desk), _days(one)) for one in offered],
        named=WAY_WORDS,
        work_of=_work,
        cautions=[] if trouble is None else list(cautions(trouble)),
    )


def _work(way: Way, sign: int) -> list[tuple[str, str]]:
    """What a way adds by operation, with its unit; or what falls away, where `sign` is below nothing."""
    return [
        (operation, counted(round(10 * abs(units)), operation_named(operation).unit))
        for operation, units in way.work.items()
        if units * sign > 0
    ]


def _hours(one: Offered) -> str:
    if abs(one.hours) < A_LITTLE:
        return "none"
    return f"{'less' if one.hours < 0 else 'more'}, about {abs(one.hours):.1f} h"


def _price(one: Offered, desk: Desk) -> str:
    assert desk.studio
    if one.price_minor is None:
        return "no rate is set"
    sign = "+" if one.price_minor > 0 else "−" if one.price_minor < 0 else ""
    return f"{sign}{money(abs(one.price_minor), desk.studio.currency)}"


def _days(one: Offered) -> str:
    if not one.days:
        return "the same day"
    return f"{abs(one.days)} {'day' if abs(one.days) == 1 else 'days'} {'later' if one.days > 0 else 'sooner'}"
