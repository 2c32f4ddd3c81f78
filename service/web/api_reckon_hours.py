"""The reckoner's JSON for hours, dates and prices. Hours as numbers, money in whole minor units, nothing rounded."""

from collections.abc import Sequence
from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter
from pydantic import Field, ValidationError, ValidatorFunctionWrapHandler, WrapValidator

from service.reckoning import dates, price
from service.reckoning.capacity import HOURS_A_DAY, Stitcher
from service.reckoning.hours import Line
from service.reckoning.hours_answer import MOST_LINES, MOST_RECORDS, HoursAsk, Work, reckon_hours
from service.reckoning.money import MOST_MINOR_UNITS
from service.reckoning.paces import Range
from service.reckoning.rates import MINUTES_IN_A_DAY, MOST_THREAD_LENGTH_MM, MOST_THREADS_PER_CM, MOST_UNITS, LoggedWork
from service.records.db import Reading
from service.studio.named import garment_label, stitcher_label
from service.studio.sign_in import Person
from service.web.api_reckon_counts import REFUSALS, Answer, Asked
from service.web.api_reckon_making import Day, Name
from service.web.deps import Reads, SignedIn
from service.web.learning import LearningHere

router = APIRouter(prefix="/api/reckon", tags=["reckoner"], responses=REFUSALS)
MOST_DAYS_AWAY = 10_000
NOT_HERS: dict[int | str, dict[str, Any]] = {
    403: {"description": "Another stitcher's pace is the owner's to see."},
}


def _one_sentence(value: object, read: ValidatorFunctionWrapHandler) -> Any:
    """Say what hours may be in one place, not once for each way of writing them."""
    try:
        return read(value)
    except ValidationError:
        message = f"must be a number from 0 to {dates.MOST_HOURS:,.0f}, or three of them as p10, p50 and p90"
        raise ValueError(message) from None


Label = Annotated[str, Field(min_length=1, max_length=200)]
PerCm = Annotated[float, Field(gt=0, le=MOST_THREADS_PER_CM)]
ThreadMm = Annotated[float, Field(gt=0, le=MOST_THREAD_LENGTH_MM)]
AnHour = Annotated[float, Field(ge=0, le=dates.MOST_HOURS)]
HoursADay = Annotated[float, Field(ge=0, le=HOURS_A_DAY)]
Money = Annotated[int, Field(ge=0, le=MOST_MINOR_UNITS)]
Percent = Annotated[float, Field(ge=0, le=100)]
QuotedHours = Annotated[float, Field(ge=0, le=price.MOST_HOURS)]


class WorkIn(Asked):
    """So much of one operation in its own unit; without a `garment` on a new one."""

    operation: Name
    quantity: Annotated[float, Field(ge=0, le=MOST_UNITS)]
    threads_per_cm: PerCm | None = None
    garment: Label | None = None
    thread_length_mm: ThreadMm | None = None


class LoggedIn(Asked):
    """So many units done in so many minutes."""

    day: Day
    stitcher: Label
    operation: Name
    threads_per_cm: PerCm
    garment: Label
    units: Annotated[float, Field(gt=0, le=MOST_UNITS)]
    minutes: Annotated[float, Field(gt=0, le=MINUTES_IN_A_DAY)]


class HoursIn(Asked):
    """The work, and who does it, if known. `log` replaces the studio's own, its names are free."""

    work: Annotated[list[WorkIn], Field(max_length=MOST_LINES)]
    stitcher: Label | None = None
    log: Annotated[list[LoggedIn], Field(max_length=MOST_RECORDS)] | None = None


class HoursRangeOut(Answer):
    """Hours not exceeded with a chance of 10, 50, 67 (two thirds), 80 and 90 in a hundred."""

    p10: float
    p50: float
    p67: float
    p80: float
    p90: float


class PaceOut(Answer):
    """Seconds a unit: one in ten is quicker than `p10`, as many slower than `p90`."""

    p10: float
    p50: float
    p90: float


class OperationOut(Answer):
    """One operation's part; its pace is without any garment's own effect."""

    operation: str
    unit: str
    quantity: float
    seconds_per_unit: PaceOut
    hours_p50: float


class HoursOut(Answer):
    """The range of all the work together; `mostly_guesses` until the log holds about thirty days of work."""

    hours: HoursRangeOut
    by_operation: list[OperationOut]
    mostly_guesses: bool


class RangeIn(Asked):
    """Hours not exceeded with a chance of 10, 50 and 90 in a hundred."""

    p10: AnHour
    p50: AnHour
    p90: AnHour


class StitcherIn(Asked):
    """Her hours on each weekday from Monday to Sunday, and the days she is away."""

    name: Label
    hours: Annotated[list[HoursADay], Field(min_length=7, max_length=7)]
    away: Annotated[list[Day], Field(max_length=MOST_DAYS_AWAY)] = []


class JobIn(Asked):
    """One stitcher's work on one garment, begun after the jobs named; plain hours are exact."""

    id: Label
    garment: Label
    stitcher: Label
    hours: Annotated[AnHour | RangeIn, WrapValidator(_one_sentence)]
    due: Day | None = None
    after: Annotated[list[Label], Field(max_length=dates.MOST_JOBS)] = []


class DatesIn(Asked):
    """Who has which hours from `start` on, and what is to be done."""

    start: Day
    stitchers: Annotated[list[StitcherIn], Field(max_length=dates.MOST_STITCHERS)]
    jobs: Annotated[list[JobIn], Field(max_length=dates.MOST_JOBS)]


class GarmentDaysOut(Answer):
    """The likely day, the day by which it is 80 % sure, the chance that every due day is kept (null without any)."""

    garment: str
    p50: date
    p80: date
    chance_in_time: float | None


class JobDaysOut(Answer):
    """The likely days of a job's beginning and end."""

    id: str
    starts: date
    ends: date


class DatesOut(Answer):
    """Garments and jobs in the order in which they were asked about."""

    garments: list[GarmentDaysOut]
    jobs: list[JobDaysOut]


class PriceIn(Asked):
    """Likely and quoted hours, and what they cost; money in whole minor units."""

    hours_p50: QuotedHours
    hours_quoted: QuotedHours
    hour_rate: Money
    overhead_per_hour: Money
    materials: Money
    margin_percent: Percent
    price_step: Annotated[int, Field(ge=1, le=MOST_MINOR_UNITS)] = 1
    instalments_percent: Annotated[list[Percent], Field(max_length=price.MOST_INSTALMENTS)] = []


class PriceOut(Answer):
    """The lines of a price; `rounding` is what rounding up to the price step adds."""

    labour: int
    risk: int
    overhead: int
    materials: int
    cost: int
    margin: int
    rounding: int
    price: int
    instalments: list[int]


@router.post("/hours", responses=NOT_HERS)
def reckon_hours_of_work(person: SignedIn, db: Reads, learning: LearningHere, asked: HoursIn) -> HoursOut:
    """How long work is likely to take, by the studio's own log or by the one sent along."""
    garments = [work.garment for work in asked.work]
    if asked.log is not None:
        log = tuple(LoggedWork(**entry.model_dump()) for entry in asked.log)
        ask = _hours_ask(asked, asked.stitcher, garments, log)
        return HoursOut.model_validate(reckon_hours(ask, learning.newest(db).drawn))
    stitcher = None if asked.stitcher is None else stitcher_label(db, person, asked.stitcher)
    known = [_known(db, person, name, place) for place, name in enumerate(garments)]
    ask = _hours_ask(asked, stitcher, known, None)
    kappa = learning.record(db).held.kappa
    return HoursOut.model_validate(reckon_hours(ask, learning.exact(db).drawn, kappa))


def _known(db: Reading, person: Person, name: str | None, place: int) -> str | None:
    return None if name is None else garment_label(db, person, name, f"work.{place}.garment")


def _hours_ask(
    asked: HoursIn, stitcher: str | None, garments: Sequence[str | None], log: tuple[LoggedWork, ...] | None
) -> HoursAsk:
    lines = [Line(work.operation, work.quantity, work.threads_per_cm, work.thread_length_mm) for work in asked.work]
    return HoursAsk(tuple(Work(*both) for both in zip(lines, garments, strict=True)), stitcher, log)


@router.post("/dates")
def reckon_days(person: SignedIn, asked: DatesIn) -> DatesOut:
    """When each garment and each job is likely to be done, and the chance of every due day."""
    del person
    stitchers = tuple(Stitcher(each.name, tuple(each.hours), frozenset(each.away)) for each in asked.stitchers)
    plan = dates.reckon_dates(dates.DatesAsk(asked.start, stitchers, tuple(_job(job) for job in asked.jobs)))
    return DatesOut.model_validate(plan)


def _job(job: JobIn) -> dates.Job:
    hours = Range(**job.hours.model_dump()) if isinstance(job.hours, RangeIn) else job.hours
    return dates.Job(job.id, job.garment, job.stitcher, hours, job.due, tuple(job.after))


@router.post("/price")
def reckon_price_of_work(person: SignedIn, asked: PriceIn) -> PriceOut:
    """What a quote comes to, line by line, and its instalments."""
    del person
    said = asked.model_dump() | {"instalments_percent": tuple(asked.instalments_percent)}
    return PriceOut.model_validate(price.reckon_price(price.PriceAsk(**said)))
