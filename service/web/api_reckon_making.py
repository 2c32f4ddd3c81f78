"""The reckoner's JSON for tucks, bias, cloth to buy, fit and working thread. Lengths in mm, nothing rounded."""

from datetime import date
from typing import Annotated

from fastapi import APIRouter
from pydantic import BeforeValidator, Field

from service.reckoning import bias, fit, layout, thread, tucks
from service.reckoning.blocks import Block
from service.reckoning.findings import Finding
from service.reckoning.growth_tables import Sex, What
from service.web.api_reckon_counts import REFUSALS, Answer, Asked
from service.web.deps import SignedIn

router = APIRouter(prefix="/api/reckon", tags=["reckoner"], responses=REFUSALS)
MOST_READINGS = 1_000


def day_of(value: object) -> object:
    """A day written as year-month-day; anything else is left to be refused."""
    if not isinstance(value, str):
        return value
    try:
        return date.fromisoformat(value)
    except ValueError:
        sentence = f"must be a day like 2027-05-16, not {value[:40]!r}"
        raise ValueError(sentence) from None


AboveMm = Annotated[float, Field(gt=0, le=1e9)]
FromZeroMm = Annotated[float, Field(ge=0, le=1e9)]
Percent = Annotated[float, Field(ge=0, lt=100)]
Day = Annotated[date, BeforeValidator(day_of)]
Name = Annotated[str, Field(max_length=200)]


class TucksIn(Asked):
    """So many tucks on a panel of that finished width; the spacing is fold to fold, even when left out."""

    tucks: Annotated[int, Field(ge=1, le=tucks.MOST_TUCKS)]
    depth_mm: AboveMm
    threads_per_cm: Annotated[float, Field(gt=0, le=tucks.MOST_THREADS_PER_CM)]
    finished_width_mm: AboveMm
    spacing_mm: AboveMm | None = None
    band_width_mm: FromZeroMm = 0
    opening_inside: bool = False


class TuckLineOut(Answer):
    """One line on the flat block, left of the centre below zero."""

    line: tucks.Line
    tuck: int
    from_centre_mm: float
    from_centre_threads: int


class TucksOut(Answer):
    """What the tucks take up, the block, and its lines from left to right."""

    take_up_mm: float
    block_width_mm: float
    lines: list[TuckLineOut]


class BiasIn(Asked):
    """An edge to bind and the cloth; without `cloth_height_mm` the least that is enough."""

    finished_width_mm: AboveMm
    fold: bias.Fold
    edge_mm: AboveMm
    cloth_width_mm: AboveMm
    cloth_height_mm: AboveMm | None = None
    binding_seam_mm: AboveMm | None = None
    join_seam_mm: FromZeroMm = bias.JOIN_SEAM_MM
    closed: bool = False


class BiasOut(Answer):
    """The strips of the cloth, joined into one run, and the least cloth along the warp that is enough."""

    cut_width_mm: float
    strips_mm: list[float]
    joins: int
    usable_mm: float
    enough: bool
    cloth_height_mm: float
    findings: list[str]


class BlockIn(Asked):
    """A block as it is to be after shrinking: height along the warp, never turned."""

    name: Name
    width_mm: AboveMm
    height_mm: AboveMm
    copies: Annotated[int, Field(ge=1, le=layout.MOST_BLOCKS)] = 1


class ClothIn(Asked):
    """The blocks and the cloth; `selvedge_mm` is lost at each edge."""

    blocks: Annotated[list[BlockIn], Field(min_length=1, max_length=layout.MOST_BLOCKS)]
    cloth_width_mm: AboveMm
    selvedge_mm: FromZeroMm = 0
    shrink_warp_percent: Percent = 0
    shrink_weft_percent: Percent = 0


class PlacementOut(Answer):
    """A block as cut: x from the cloth's left edge, y from the cut end."""

    name: str
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float


class ClothOut(Answer):
    """The layout's length, that length up to the next 100 mm, and what no block covers."""

    length_mm: float
    buy_mm: float
    placements: list[PlacementOut]
    waste_percent: float


class MeasuredIn(Asked):
    """A reading: length or head in mm, weight in g."""

    what: What
    value: Annotated[float, Field(gt=0, le=1e6)]
    on: Day


class FitIn(Asked):
    """The child and the day; `gestation_weeks` at birth, if early."""

    sex: Sex
    born: Day
    on: Day
    measured: Annotated[list[MeasuredIn], Field(max_length=MOST_READINGS)] = []
    gestation_weeks: Annotated[float, Field(ge=0, le=60)] | None = None


class SpanOut(Answer):
    """The middle, what is likely (80 %) and what to allow for (90 %)."""

    middle: float
    likely: tuple[float, float]
    allow: tuple[float, float]


class SizeOut(Answer):
    """The size class in cm: for the middle, and for the upper end of what is likely."""

    middle: int
    likely_high: int


class FitOut(Answer):
    """The child's size on the day, for cutting cloth; never a word about health."""

    age_days: int
    length_mm: SpanOut
    head_mm: SpanOut
    weight_g: SpanOut
    size: SizeOut
    findings: list[str]


class WorkedIn(Asked):
    """So much of one operation in its own unit; `width_mm` is what one unit takes."""

    operation: Name
    quantity: Annotated[float, Field(ge=0, le=1e6)]
    width_mm: AboveMm | None = None


class ThreadIn(Asked):
    """The work, the skein and the needleful."""

    operations: Annotated[list[WorkedIn], Field(min_length=1, max_length=thread.MOST_OPERATIONS)]
    skein_mm: AboveMm
    needleful_mm: AboveMm = thread.LONGEST_NEEDLEFUL_MM


class ThreadOut(Answer):
    """Thread to take from the skein, tails included."""

    working_thread_mm: float
    needlefuls: int
    skeins: int


@router.post("/tucks")
def reckon_tucks(person: SignedIn, asked: TucksIn) -> TucksOut:
    """What tucks take up, and every fold, knotted line and band edge by mm and by thread from the centre."""
    del person
    return TucksOut.model_validate(tucks.plan_tucks(tucks.TucksAsk(**asked.model_dump())))


@router.post("/bias")
def reckon_bias(person: SignedIn, asked: BiasIn) -> BiasOut:
    """How wide to cut a bias binding, the strips a cloth gives, and the least cloth for the edge."""
    del person
    plan = bias.plan_bias(bias.BiasAsk(**asked.model_dump()))
    return BiasOut(
        cut_width_mm=plan.cut_width_mm,
        strips_mm=list(plan.strips_mm),
        joins=plan.joins,
        usable_mm=plan.usable_mm,
        enough=plan.enough,
        cloth_height_mm=plan.cloth_height_mm,
        findings=_texts(plan.findings),
    )


@router.post("/cloth")
def reckon_cloth(person: SignedIn, asked: ClothIn) -> ClothOut:
    """How much cloth to buy for these blocks, laid on the straight grain and never turned."""
    del person
    blocks = tuple(Block(**block.model_dump()) for block in asked.blocks)
    return ClothOut.model_validate(layout.plan_cloth(layout.ClothAsk(**asked.model_dump() | {"blocks": blocks})))


@router.post("/fit")
def reckon_fit(person: SignedIn, asked: FitIn) -> FitOut:
    """How large the child is likely to be on the day, for cutting cloth; not a health check."""
    del person
    measured = tuple(fit.Measured(**reading.model_dump()) for reading in asked.measured)
    found = fit.fit_on_the_day(fit.FitAsk(asked.sex, asked.born, asked.on, measured, asked.gestation_weeks))
    return FitOut(
        age_days=found.age_days,
        length_mm=SpanOut.model_validate(found.length_mm),
        head_mm=SpanOut.model_validate(found.head_mm),
        weight_g=SpanOut.model_validate(found.weight_g),
        size=SizeOut.model_validate(found.size),
        findings=_texts(found.findings),
    )


@router.post("/thread")
def reckon_thread(person: SignedIn, asked: ThreadIn) -> ThreadOut:
    """How much working thread this work takes, in needlefuls and skeins."""
    del person
    work = tuple(thread.Worked(**worked.model_dump()) for worked in asked.operations)
    return ThreadOut.model_validate(thread.plan_thread(thread.ThreadAsk(work, asked.skein_mm, asked.needleful_mm)))


def _texts(findings: tuple[Finding, ...]) -> list[str]:
    return [finding.text for finding in findings]
