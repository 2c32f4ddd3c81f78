"""The page of a commission's child: readings, the size to cut for on the day, and whether each garment will do."""

from dataclasses import dataclass

from fastapi import APIRouter
from fastapi.responses import Response

from service.languages.spoken import said
from service.reckoning.asked import Wrong
from service.reckoning.findings import Finding
from service.reckoning.fit import Fit
from service.reckoning.fit_garment import MadeFor, class_named, garment_findings
from service.records.db import Reading, Writing
from service.records.tables import ChildMeasure, Commission, Garment
from service.studio import child, commissions
from service.web import manner
from service.web.deps import Desk, Id, OwnerDesk, Reads, Writes
from service.web.fit_words import SOURCE, FitShown, fit_shown
from service.web.forms import UM_PER, Form, Typed
from service.web.reckoner import put
from service.web.reckoner_fit import read_value
from service.web.words import measure as length_said
from service.web.words import tidy

router = APIRouter(include_in_schema=False, prefix="/commissions")
OWN_FIELDS = {"value": "value", "on": "on", "what": "what"}


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """One reading as written down."""

    measure: ChildMeasure
    value: str


@dataclass(frozen=True, slots=True)
class GarmentFit:
    """Whether one garment will do; `size_cm` is the longest child it is made for, if its size says so."""

    garment: Garment
    size_cm: int | None
    findings: tuple[Finding, ...]


@router.get("/{commission_id}/fit")
def show_fit(desk: OwnerDesk, db: Reads, commission_id: Id) -> Response:
    return _page(desk, db, commissions.commission_with(db, commission_id), Form({"on": desk.today.isoformat()}))


@router.post("/{commission_id}/fit/add")
def add_reading(desk: OwnerDesk, form: Typed, db: Writes, commission_id: Id) -> Response:
    assert desk.studio
    commission = commissions.commission_with(db, commission_id)
    what = child.WHATS.get(form.choice("what", child.WHATS, called="what was measured"))
    value = read_value(form, "value", what or "length", desk.studio)
    on = form.day("on", called="the day of the reading")
    if not form.wrong and what and value is not None and on:
        reading = child.NewReading(what, round(value if what == "weight" else value * 1000), on)
        try:
            child.add_measure(db, commission, reading)
        except Wrong as wrong:
            put(form, wrong, {wrong.field: OWN_FIELDS.get(wrong.field.rpartition(".")[2], "value")})
    if form.wrong:
        return _page(desk, db, commission, form, 422)
    return desk.go(f"/commissions/{commission_id}/fit")


@router.post("/{commission_id}/fit/{measure_id}/remove")
def remove_reading(desk: OwnerDesk, db: Writes, commission_id: Id, measure_id: Id) -> Response:
    assert desk.studio
    gone = child.remove_measure(db, commission_id, measure_id)
    per_unit = UM_PER[desk.studio.length_unit]
    value = gone.value_g / 1000 if gone.value_g is not None else (gone.value_um or 0) / per_unit
    again = {"what": gone.what, "value": manner.typed(value), "on": gone.on.isoformat()}
    desk.may_undo("The reading is removed.", f"/commissions/{commission_id}/fit/add", **again)
    return desk.go(f"/commissions/{commission_id}/fit")


def _page(desk: Desk, db: Reading | Writing, commission: Commission, form: Form, status: int = 200) -> Response:
    assert desk.studio
    assert commission.id is not None
    measures = child.measures_of(db, commission.id)
    fit, missing = _fit(commission, measures)
    garments = tuple(
        _garment_fit(garment, fit)
        for garment in commissions.garments_of(db, commission.id)
        if garment.state != "called off"
    )
    sizes = [one.size_cm for one in garments if one.size_cm]
    shown: FitShown | None = None
    if fit is not None:
        shown = fit_shown(fit, desk.studio, MadeFor(min(sizes)) if sizes else None)
    return desk.page(
        "commissions/fit.html",
        "commissions",
        status=status,
        commission=commission,
        form=form,
        readings=tuple(_reading_line(desk, measure) for measure in measures),
        shown=shown,
        missing=missing,
        garments=garments,
        source=SOURCE,
        today=desk.today,
    )


def _fit(commission: Commission, measures: list[ChildMeasure]) -> tuple[Fit | None, str]:
    """The fit, or what stands in its way in a sentence."""
    names = {"sex": "Girl or boy", "born": "The day of birth", "on": "The day it is wanted"}
    try:
        return child.fit_of(commission, measures), ""
    except Wrong as wrong:
        called = names.get(wrong.field, "A reading" if wrong.field.startswith("measured") else "The weeks at birth")
        return None, f"{said(called)} {said(wrong.sentence)}."


def _garment_fit(garment: Garment, fit: Fit | None) -> GarmentFit:
    size = class_named(garment.size)
    findings = garment_findings(fit, MadeFor(size)) if fit is not None and size is not None else ()
    return GarmentFit(garment, size, findings)


def _reading_line(desk: Desk, measure: ChildMeasure) -> ReadingLine:
    assert desk.studio
    if measure.value_g is not None:
        return ReadingLine(measure, f"{tidy(measure.value_g / 1000, 2)} kg")
    return ReadingLine(measure, length_said(measure.value_um or 0, desk.studio.length_unit))
