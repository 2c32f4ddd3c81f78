"""The reckoner's page that goes backwards: from a sum and a day to what could be promised for it."""

from datetime import timedelta
from urllib.parse import urlencode

from fastapi import APIRouter
from fastapi.responses import Response
from sqlmodel import col, select

from service.records.tables import Design
from service.studio.charges import charges_of
from service.studio.diary import Foreseen, week_minutes
from service.studio.for_a_sum import Answer, Known, SumAsk, Way, ways_for
from service.web.deps import Desk, OwnerDesk, Reads
from service.web.foreseeing import foresight_of
from service.web.forms import Form
from service.web.learning import LearningHere
from service.web.reckoner import asked

router = APIRouter(include_in_schema=False, prefix="/reckoner/promise")
FAR = timedelta(days=3650)


@router.get("")
def show_promise(desk: OwnerDesk, db: Reads, learning: LearningHere) -> Response:
    form, plan = asked(desk, {}), foresight_of(desk.request).exact(db, desk.today)
    designs = db.exec(
        select(Design.id, Design.name).where(Design.state == "current").order_by(col(Design.name), col(Design.id))
    ).all()
    ask = _ask(desk, form, {str(number) for number, _ in designs}, plan) if form.raw("sum") or form.raw("by") else None
    charges = charges_of(db)
    learned = learning.exact(db)
    found: Answer | None = None
    if ask is not None and charges is not None:
        found = ways_for(db, ask, Known(learned, learning.record(db).held.kappa, foresight_of(desk.request), plan))
    return desk.page(
        "reckoner/promise.html",
        "reckoner",
        status=422 if form.wrong else 200,
        form=form,
        ask=ask,
        found=found,
        found_ways=[(way, _on(way, ask)) for way in found.ways] if found and ask else [],
        charges=charges,
        designs=[("", "any of them"), *designs],
        stitchers=[("", "whoever gets it done"), *_with_hours(plan)],
        mostly_guesses=learned.mostly_guesses,
    )


def _with_hours(plan: Foreseen) -> list[tuple[int, str]]:
    return [(each.id, each.name) for each in plan.facts.workers if week_minutes(each)]


def _on(way: Way, ask: SumAsk) -> str:
    """Where the same piece is tried in the diary beside all others, and written down from."""
    cloths = {f"cloth.{role}": str(cloth.id) for role, cloth in way.choice.cloths.items()}
    said = {"design": str(way.choice.design_id), "wanted_on": ask.by.isoformat(), "by": str(way.worker.id), **cloths}
    return f"/diary/what-if/new?{urlencode(said)}"


def _ask(desk: Desk, form: Form, designs: set[str], plan: Foreseen) -> SumAsk | None:
    assert desk.studio
    currency = desk.studio.currency
    in_all = form.money_minor("sum", currency, called="the sum", needed=True)
    if in_all == 0:
        form.fault("sum", "The sum must be above nothing.")
    by = form.day("by", called="the day it is wanted")
    if by is not None and not desk.today <= by <= desk.today + FAR:
        form.fault("by", "The day it is wanted must not lie before today, nor more than ten years ahead.")
    other = form.money_minor("other", currency, called="what else it is made of") or 0
    design = form.choice("design", designs, called="a design", needed=False)
    stitcher = form.choice(
        "stitcher", [str(number) for number, _ in _with_hours(plan)], called="who makes it", needed=False
    )
    if form.wrong or in_all is None or by is None:
        return None
    return SumAsk(in_all, by, int(design) if design else None, int(stitcher) if stitcher else None, other)
