"""The reckoner's page for hours: how long so much of one work is likely to take, by the studio's own log."""

from dataclasses import dataclass

from fastapi import APIRouter
from fastapi.responses import Response
from sqlmodel import col, select

from service.reckoning.asked import Wrong
from service.reckoning.hours import Line, Stretch
from service.reckoning.hours_answer import HoursAnswer, HoursAsk, OperationHours, Work, reckon_hours
from service.reckoning.operations import OPERATIONS
from service.reckoning.rates import MOST_UNITS
from service.reckoning.trial import Trial, trials
from service.records.db import Reading
from service.records.tables import Stitcher
from service.studio.rates import Learned, whose
from service.studio.sign_in import Person
from service.web.amount_words import kept_of_one
from service.web.deps import OwnerDesk, Reads, SignedIn, SignedInDesk
from service.web.forms import Form
from service.web.learning import LearningHere
from service.web.reckoner import asked, put
from service.web.reckoner_counts import count_from
from service.web.words import operation

router = APIRouter(include_in_schema=False, prefix="/reckoner")
FIELDS = {"work.0.quantity": "quantity", "work.0.threads_per_cm": "count", "work.0.thread_length_mm": "length"}
ANYBODY = ("", "anybody")


@dataclass(frozen=True, slots=True)
class Found:
    """The hours of the work and its pace; `by` is who does it, if she is named."""

    answer: HoursAnswer
    by: str
    trial: Trial | None

    @property
    def work(self) -> OperationHours:
        """The one operation asked about."""
        return self.answer.by_operation[0]


@router.get("/hours")
def show_hours(desk: SignedInDesk, person: SignedIn, db: Reads, learning: LearningHere) -> Response:
    assert desk.studio
    form, stitchers = asked(desk, {"count_unit": desk.studio.count_unit}), stitchers_to_ask(db, person)
    is_asked = bool(form.raw("quantity") or form.raw("operation"))
    learned, record = learning.exact(db), learning.record(db)
    found = _found(form, desk.studio.length_unit, stitchers, learned, record.held.kappa) if is_asked else None
    return desk.page(
        "reckoner/hours.html",
        "reckoner",
        status=422 if form.wrong else 200,
        form=form,
        found=found,
        works=[("", "Choose the work"), *((name, operation(name).capitalize()) for name in OPERATIONS)],
        stitchers=[ANYBODY, *stitchers.items()],
        records=learned.records,
        record=record,
    )


@router.get("/record")
def show_record(desk: OwnerDesk, db: Reads, learning: LearningHere) -> Response:
    return desk.page("reckoner/record.html", "reckoner", record=learning.record(db))


def stitchers_to_ask(db: Reading, person: Person) -> dict[str, str]:
    """Whose paces this person may ask for, by number: the owner everybody's, a stitcher her own."""
    found = select(Stitcher.id, Stitcher.name).where(col(Stitcher.left_on).is_(None)).order_by(col(Stitcher.name))
    if not person.is_owner:
        found = found.where(Stitcher.id == person.stitcher_id)
    return {str(number): name for number, name in db.exec(found)}


def _found(form: Form, length_unit: str, stitchers: dict[str, str], learned: Learned, kappa: float) -> Found | None:
    work = form.choice("operation", tuple(OPERATIONS), called="the work")
    quantity = form.decimal("quantity", called="how much of it", most=MOST_UNITS)
    count = count_from(form, "count", "count_unit", called="the count of the cloth", needed=False)
    length_um = form.length_um("length", length_unit, called="the length of a thread", needed=False)
    if (by := form.raw("stitcher")) and by not in stitchers:
        form.fault("stitcher", "Choose somebody from the list, or anybody.")
    if form.wrong or quantity is None:
        return None
    kept = float(quantity * kept_of_one(OPERATIONS[work].unit))
    line = Line(work, kept, count, None if length_um is None else length_um / 1000)
    ask = HoursAsk((Work(line),), whose(int(by)) if by else None)
    try:
        answer = reckon_hours(ask, learned.drawn, kappa)
        tried = trials(learned.fit, [Stretch("", (line,), ask.stitcher or "")])
        return Found(answer, stitchers.get(by, ""), tried[0] if tried else None)
    except Wrong as wrong:
        put(form, wrong, FIELDS)
    return None
