"""The child of a commission: readings of length, head and weight, and the size to cut for on the day."""

from dataclasses import dataclass
from datetime import date

from sqlmodel import col, select

from service.errors import Conflict, NotFound
from service.reckoning.asked import Wrong
from service.reckoning.fit import Fit, FitAsk, Measured, fit_on_the_day
from service.reckoning.growth_tables import Sex, What
from service.records.db import Reading, Writing
from service.records.tables import ChildMeasure, Commission

MOST_READINGS = 50
WHATS: dict[str, What] = {"length": "length", "head": "head", "weight": "weight"}
SEXES: dict[str | None, Sex] = {"girl": "girl", "boy": "boy"}


@dataclass(frozen=True, slots=True)
class NewReading:
    """A reading to write down: lying length or head in µm, or weight in g, and the day it was taken."""

    what: What
    value: int
    on: date


def measures_of(db: Reading | Writing, commission_id: int) -> list[ChildMeasure]:
    """The readings of a commission's child, the newest first."""
    found = select(ChildMeasure).where(ChildMeasure.commission_id == commission_id)
    return list(db.exec(found.order_by(col(ChildMeasure.on).desc(), col(ChildMeasure.id).desc())))


def fit_of(commission: Commission, measures: list[ChildMeasure]) -> Fit:
    """The child's size on the day the commission is wanted; raises Wrong where it cannot be reckoned."""
    sex = SEXES.get(commission.child_sex)
    if sex is None:
        raise Wrong("sex", "must be known: write down whether it is a girl or a boy")
    if commission.child_born is None:
        raise Wrong("born", "must be known: write down the day of birth, or the day it is due")
    return fit_on_the_day(
        FitAsk(
            sex,
            commission.child_born,
            commission.wanted_on,
            tuple(_measured(measure) for measure in reversed(measures)),
            commission.gestation_weeks,
            commission.born_is_due,
        )
    )


def add_measure(db: Writing, commission: Commission, reading: NewReading) -> ChildMeasure:
    """Write a reading down; raises Wrong, with its field, for one that nothing can be reckoned from."""
    assert commission.id is not None
    kept = measures_of(db, commission.id)
    if len(kept) >= MOST_READINGS:
        raise Conflict(f"{MOST_READINGS} readings are kept already: remove those that are not needed.")
    weighed = reading.what == "weight"
    measure = ChildMeasure(
        commission_id=commission.id,
        what=reading.what,
        value_um=None if weighed else reading.value,
        value_g=reading.value if weighed else None,
        on=reading.on,
    )
    fit_of(commission, [measure, *kept])
    db.add(measure)
    db.flush()
    return measure


def remove_measure(db: Writing, commission_id: int, measure_id: int) -> ChildMeasure:
    """Take a reading away for good: the least is kept of a child. Gives what is gone."""
    measure = db.get(ChildMeasure, measure_id)
    if measure is None or measure.commission_id != commission_id:
        raise NotFound("There is no such reading.")
    db.delete(measure)
    return measure


def _measured(measure: ChildMeasure) -> Measured:
    what = WHATS[measure.what]
    value = measure.value_g if measure.value_g is not None else (measure.value_um or 0) / 1000
    return Measured(what, value, measure.on)
