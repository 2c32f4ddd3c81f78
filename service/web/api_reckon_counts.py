"""The reckoner's JSON for counts, conversions and bands. Lengths in mm, counts in threads per cm, nothing rounded."""

from typing import Annotated, Any

from fastapi import APIRouter
from pydantic import BaseModel, ConfigDict, Field

from service.reckoning import counts
from service.reckoning.band_kinds import BandKind
from service.reckoning.bands import BUNDLE_THREADS, BandAsk, BandPlan, LeftOverWay, plan_band
from service.web.deps import SignedIn

REFUSALS: dict[int | str, dict[str, Any]] = {
    401: {"description": "Nobody is signed in."},
    422: {"description": "A field is missing, unknown or cannot be reckoned with; `errors` names each."},
}
router = APIRouter(prefix="/api/reckon", tags=["reckoner"], responses=REFUSALS)

Threads = Annotated[int, Field(ge=1, le=counts.MOST_THREADS)]
LengthMm = Annotated[float, Field(gt=0, le=1e9)]
PerCm = Annotated[float, Field(ge=counts.LEAST_PER_CM, le=counts.MOST_PER_CM)]


class Asked(BaseModel):
    """A body: nothing unknown, no text for a number, nothing endless."""

    model_config = ConfigDict(extra="forbid", allow_inf_nan=False, strict=True)


class Answer(BaseModel):
    """An answer, filled from what the core returns."""

    model_config = ConfigDict(from_attributes=True)


class ReadingIn(Asked):
    """One place: so many threads over so many mm."""

    threads: Threads
    over_mm: LengthMm


class CountIn(Asked):
    """Readings of one system, warp or weft, at one or more places."""

    readings: Annotated[list[ReadingIn], Field(min_length=1, max_length=counts.MOST_READINGS)]


class CountOut(Answer):
    """The mean of the places and how far they differ."""

    threads_per_cm: float
    threads_per_inch: float
    sd_per_cm: float
    cv_percent: float
    places: int


class ConvertIn(Asked):
    """Threads with the count they were counted on, or a width; and the count of the other cloth."""

    threads: Threads | None = None
    width_mm: LengthMm | None = None
    from_threads_per_cm: PerCm | None = None
    to_threads_per_cm: PerCm


class ConvertOut(Answer):
    """The width wanted, the whole threads nearest to it, and what they measure."""

    width_mm: float
    threads: int
    actual_width_mm: float
    error_mm: float


class BandIn(Asked):
    """A band: `withdraw_threads` or `width_mm`, and `standing_threads` or `length_mm`."""

    kind: BandKind
    withdrawn_threads_per_cm: PerCm
    standing_threads_per_cm: PerCm
    withdraw_threads: Threads | None = None
    width_mm: LengthMm | None = None
    standing_threads: Threads | None = None
    length_mm: LengthMm | None = None
    bundle_threads: Threads = BUNDLE_THREADS
    stop_lines: Annotated[int, Field(ge=0, le=2)] = 1
    closed_round: bool = False
    pair_rows: Annotated[int, Field(ge=1, le=2)] = 1
    into_seam: bool = False


class ChoiceOut(Answer):
    """One way out of left-over threads or an odd bundle."""

    way: LeftOverWay
    standing_threads: int
    length_mm: float
    bundles: int
    bundle_sizes: list[int]


class AmountOut(Answer):
    """So much of one operation, in its unit."""

    operation: str
    unit: str
    quantity: float


class BandOut(Answer):
    """The band thread by thread; `operations` are the work of its whole bundles."""

    withdraw_threads: int
    width_mm: float
    standing_threads: int
    bundles: int
    left_over_threads: int
    findings: list[str]
    choices: list[ChoiceOut]
    operations: list[AmountOut]


@router.post("/count")
def reckon_count(person: SignedIn, asked: CountIn) -> CountOut:
    """Threads per cm and per inch from readings at several places, with their spread."""
    del person
    count = counts.count_of([counts.Reading(reading.threads, reading.over_mm) for reading in asked.readings])
    return CountOut.model_validate(count)


@router.post("/convert")
def reckon_conversion(person: SignedIn, asked: ConvertIn) -> ConvertOut:
    """Carry threads, or a width, to a cloth of another count through the measured width."""
    del person
    return ConvertOut.model_validate(counts.convert(**asked.model_dump()))


@router.post("/band")
def reckon_band(person: SignedIn, asked: BandIn) -> BandOut:
    """A band on its cloth: threads to withdraw, bundles, what is left over, and the work of it."""
    del person
    return _band_out(plan_band(BandAsk(**asked.model_dump())))


def _band_out(plan: BandPlan) -> BandOut:
    return BandOut(
        withdraw_threads=plan.withdraw_threads,
        width_mm=plan.width_mm,
        standing_threads=plan.standing_threads,
        bundles=plan.bundles,
        left_over_threads=plan.left_over_threads,
        findings=[finding.text for finding in plan.findings],
        choices=[ChoiceOut.model_validate(choice) for choice in plan.choices],
        operations=[AmountOut.model_validate(amount) for amount in plan.operations],
    )
