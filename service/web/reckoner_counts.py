"""The reckoner's pages for a count and for carrying threads to another cloth."""

from dataclasses import dataclass

from fastapi import APIRouter
from fastapi.responses import Response

from service.drawing.thread_strips import thread_strips
from service.reckoning import counts
from service.reckoning.asked import Wrong
from service.reckoning.counts import Conversion, Count
from service.reckoning.findings import Finding
from service.reckoning.lengths import per_cm_from, unit_called
from service.records.tables import Studio
from service.web.cloth_forms import MOST_THREADS, length_over, over_to_begin_with
from service.web.deps import SignedInDesk
from service.web.forms import Form
from service.web.reckoner import asked, put

router = APIRouter(include_in_schema=False, prefix="/reckoner")
PLACES = (1, 2, 3, 4, 5)
FINE_UNIT = {"cm": "mm", "in": "in"}
CONVERT_FIELDS = {
    "threads": "threads",
    "width_mm": "width",
    "from_threads_per_cm": "from_count",
    "to_threads_per_cm": "to_count",
}


@dataclass(frozen=True, slots=True)
class Counted:
    """The count of one system, and what a careful counter would still do."""

    count: Count
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Carried:
    """Threads or a width carried to another cloth: what one thread of it measures, and the picture."""

    threads: int | None
    found: Conversion
    one_thread_mm: float
    drawing: str


@router.get("/count")
def show_count(desk: SignedInDesk) -> Response:
    assert desk.studio
    form = asked(desk, {"over": over_to_begin_with(desk.studio, None)})
    is_asked = "threads-1" in form.values
    found = _counted(form, desk.studio) if is_asked else None
    status = 422 if form.wrong else 200
    return desk.page("reckoner/count.html", "reckoner", status=status, form=form, found=found, places=PLACES)


@router.get("/convert")
def show_conversion(desk: SignedInDesk) -> Response:
    assert desk.studio
    unit = desk.studio.count_unit
    form = asked(desk, {"from_unit": unit, "to_unit": unit})
    is_asked = "threads" in form.values or "width" in form.values
    found = _carried(form, desk.studio) if is_asked else None
    status = 422 if form.wrong else 200
    width_unit = FINE_UNIT[desk.studio.length_unit]
    return desk.page("reckoner/convert.html", "reckoner", status=status, form=form, found=found, width_unit=width_unit)


def count_from(form: Form, field: str, unit_field: str, *, called: str, needed: bool = True) -> float | None:
    """A count as typed, in threads per cm."""
    unit = form.choice(unit_field, ("cm", "in"), called="per cm or per inch")
    value = form.decimal(field, called=called, most=3000, needed=needed, above=True)
    return None if value is None or not unit else per_cm_from(float(value), unit_called(unit))


def _counted(form: Form, studio: Studio) -> Counted | None:
    typed = [at for at in PLACES if form.raw(f"threads-{at}") or form.raw(f"over-{at}")]
    if not typed:
        form.fault("threads-1", "Enter the threads you counted at one place at least.")
    readings = [_reading(form, studio, at) for at in typed]
    if form.wrong:
        return None
    try:
        return Counted(counts.count_of(readings), counts.findings_of(readings))
    except Wrong as wrong:
        place = typed[int(wrong.field.split(".")[1])]
        form.fault(f"threads-{place}", "That cannot be cloth: look at the length it was counted over.")
    return None


def _reading(form: Form, studio: Studio, at: int) -> counts.Reading:
    threads = form.whole(f"threads-{at}", called="the threads counted", least=1, most=MOST_THREADS)
    over_um = length_over(form, f"over-{at}" if form.raw(f"over-{at}") else "over", studio.count_unit)
    return counts.Reading(threads or 1, (over_um or 1) / 1000)


def _carried(form: Form, studio: Studio) -> Carried | None:
    threads = form.whole("threads", called="the threads", least=1, needed=False)
    width_um = form.length_um("width", FINE_UNIT[studio.length_unit], called="the width", needed=False)
    if bool(form.raw("threads")) == bool(form.raw("width")):
        form.fault("threads", "Fill in the threads or the width, one of the two.")
    from_count = count_from(form, "from_count", "from_unit", called="the count they were counted on", needed=False)
    to_count = count_from(form, "to_count", "to_unit", called="the count of the other cloth")
    if form.wrong or to_count is None:
        return None
    try:
        found = counts.convert(
            threads=threads,
            width_mm=None if width_um is None else width_um / 1000,
            from_threads_per_cm=from_count,
            to_threads_per_cm=to_count,
        )
        return Carried(threads, found, counts.width_of(1, to_count), thread_strips(found, threads))
    except Wrong as wrong:
        put(form, wrong, CONVERT_FIELDS)
    return None
