"""What could be promised for a sum by a day: designs on the shelf's cloths, bands left out, bundles, stitchers.

The search is bounded and always takes the same road: so many plans at most, each with everybody who has hours.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction
from functools import lru_cache
from math import log

from sqlmodel import col, select

from service.reckoning.asked import Wrong
from service.reckoning.blocks import Block
from service.reckoning.by_length import cost_minor
from service.reckoning.carry import plan_garment
from service.reckoning.design_text import read_design
from service.reckoning.designs import ClothCounts, Design
from service.reckoning.hours import Stretch
from service.reckoning.layout import ClothAsk, plan_cloth
from service.reckoning.lengths import CountUnit
from service.reckoning.money import half_up, percent_of
from service.reckoning.plans import BundleChoice, GarmentPlan, SectionChoice
from service.reckoning.price import PriceAsk, reckon_price
from service.reckoning.promise import LeftOut, Openwork, bands_to_leave_out, least_left_out, openwork_mm2, without
from service.reckoning.quoting import hours_to_quote
from service.reckoning.shrink import to_cut_um
from service.records import tables
from service.records.db import Reading
from service.records.queries.cloth import readings_that_count
from service.records.queries.diary import Worker
from service.records.tables import Charges, Cloth
from service.studio.charges import chance_of, needed_charges
from service.studio.cloth import counts_from, shrink_percents
from service.studio.diary import Foreseen, PieceDays, week_minutes
from service.studio.foresight import Foresight
from service.studio.guesses import guesses_of
from service.studio.making import Drafted
from service.studio.rates import Learned, whose
from service.studio.studio_settings import length_unit_of
from service.studio.what_ifs import NEW, new_piece, with_new

MOST_PLANS = 12
MOST_STITCHERS = 4
MOST_FORESEEN = 24
MOST_SHOWN = 10
IN_TIME = 0.7
FINER = 1.1  # so much finer than the design's own cloth that a bundle of the same width holds a thread more

Counted = tuple[tuple[str, ClothCounts], ...]


@dataclass(frozen=True, slots=True)
class SumAsk:
    """So much in all, tax included, in minor units, by a day; of one design or any, by one stitcher or any.

    `other_minor` is what thread, lace and other supplies come to.
    """

    sum_minor: int
    by: date
    design_id: int | None = None
    stitcher_id: int | None = None
    other_minor: int = 0


@dataclass(frozen=True, slots=True)
class Known:
    """What the answer rests on: the log's paces and widening, the diary's plan, and how it is made anew."""

    learned: Learned
    kappa: float
    foresight: Foresight
    plan: Foreseen


@dataclass(frozen=True, slots=True)
class Choice:
    """A design on chosen cloths, planned; `wide` when bundles keep their width and not their threads."""

    design_id: int
    name: str
    drafted: Drafted
    cloths: Mapping[str, Cloth]
    wide: bool
    cloth_minor: int
    needed_um: Mapping[int, int]


@dataclass(frozen=True, slots=True)
class Way:
    """One way to reach the sum: what is left out, who makes it, what it comes to, when it is done."""

    choice: Choice
    worker: Worker
    left_out: LeftOut
    kept_mm2: float
    days: PieceDays = field(default_factory=PieceDays)

    @property
    def chance(self) -> float:
        """The chance that it is ready in time."""
        return self.days.chance or 0.0

    @property
    def is_in_time(self) -> bool:
        """Whether it is likely ready in time."""
        return self.chance >= IN_TIME

    @property
    def too_little(self) -> tuple[str, ...]:
        """The cloths of which there is less on the shelf than it takes."""
        cloths = {cloth.id: cloth for cloth in self.choice.cloths.values()}
        needed = self.choice.needed_um
        return tuple(cloth.name for number, cloth in cloths.items() if needed.get(number or 0, 0) > cloth.on_hand_um)


@dataclass(frozen=True, slots=True)
class Answer:
    """The ways that reach the sum, the best first; where none does, the least that anything comes to."""

    ways: tuple[Way, ...]
    least_minor: int | None


def ways_for(db: Reading, ask: SumAsk, known: Known) -> Answer:
    """Find what could be promised: likely in time first, then what loses least openwork, then what keeps most."""
    charges = needed_charges(db)
    workers = _workers(ask, known.plan)
    found: list[Way] = []
    least: int | None = None
    for choice in _choices(db, ask) if workers else ():
        bands = bands_to_leave_out(choice.drafted.plan)
        all_mm2 = openwork_mm2(choice.drafted.plan)
        for worker in workers:
            reckoned = _Reckoned(choice, worker, known, charges, ask.other_minor)
            left_out = least_left_out(bands, ask.sum_minor, reckoned.total)
            least = min(total for total in (least, *reckoned.totals.values()) if total is not None)
            if left_out is not None:
                found.append(Way(choice, worker, left_out, all_mm2 - left_out.area_mm2))
    found.sort(key=_promise_order)
    foreseen = [_foreseen(db, way, ask, known) for way in found[:MOST_FORESEEN]]
    best: dict[int, Way] = {}
    for way in sorted(foreseen, key=_order):
        best.setdefault(id(way.choice), way)
    return Answer(tuple(best.values())[:MOST_SHOWN], None if found else least)


def _promise_order(way: Way) -> tuple[float, bool, float, int, int]:
    return (round(way.left_out.area_mm2), way.choice.wide, -round(way.kept_mm2), way.left_out.total, way.worker.id)


def _order(way: Way) -> tuple[object, ...]:
    return (not way.is_in_time, *_promise_order(way)[:3], -way.chance, *_promise_order(way)[3:])


def _workers(ask: SumAsk, plan: Foreseen) -> list[Worker]:
    """Who might make it: whoever is asked for, else those with the most hours a week."""
    able = [each for each in plan.facts.workers if week_minutes(each)]
    if ask.stitcher_id is not None:
        return [each for each in able if each.id == ask.stitcher_id]
    return sorted(able, key=lambda each: (-week_minutes(each), each.id))[:MOST_STITCHERS]


class _Reckoned:
    """What a choice made by one stitcher comes to, by what is left out of it."""

    def __init__(self, choice: Choice, worker: Worker, known: Known, charges: Charges, other_minor: int) -> None:
        self._choice, self._worker, self._known, self._charges = choice, worker, known, charges
        self._materials = choice.cloth_minor + other_minor
        self.totals: dict[tuple[Openwork, ...], int] = {}

    def total(self, left_out: tuple[Openwork, ...]) -> int:
        """The price with tax, in minor units, quoted as the studio's quotes are."""
        if left_out not in self.totals:
            self.totals[left_out] = self._total(left_out)
        return self.totals[left_out]

    def _total(self, left_out: tuple[Openwork, ...]) -> int:
        learned, charges = self._known.learned, self._charges
        _, parts = new_piece(_drafted(self._choice, left_out), "", date.max, None)
        by = whose(self._worker.id)
        work = [Stretch(f"{NEW} {part.job}", part.lines, by, str(NEW)) for part in parts.values()]
        hours = hours_to_quote(learned.drawn, {NEW: work}, chance_of(charges), self._known.kappa)
        price = reckon_price(
            PriceAsk(
                hours.likely,
                hours.quoted,
                charges.hour_rate_minor,
                charges.overhead_minor_per_hour,
                self._materials,
                charges.margin_hundredths / 100,
                charges.price_step_minor,
            )
        ).price
        return price + percent_of("tax_percent", charges.tax_hundredths / 100, price)


def _drafted(choice: Choice, left_out: Sequence[Openwork]) -> Drafted:
    return replace(choice.drafted, plan=without(choice.drafted.plan, left_out))


def _foreseen(db: Reading, way: Way, ask: SumAsk, known: Known) -> Way:
    drafted = _drafted(way.choice, way.left_out.bands)
    piece = new_piece(drafted, way.choice.name, ask.by, way.worker.id)
    return replace(way, days=with_new(db, known.foresight, known.plan, piece).days_of(NEW))


def _choices(db: Reading, ask: SumAsk) -> Iterator[Choice]:
    """The plans that are looked at: every design on the cloth nearest to its own, then on the next nearest, …"""
    wanted = select(tables.Design).where(tables.Design.state == "current")
    if ask.design_id is not None:
        wanted = wanted.where(tables.Design.id == ask.design_id)
    rows = db.exec(wanted.order_by(col(tables.Design.name), col(tables.Design.id))).all()
    unit = length_unit_of(db)
    shelf, guesses = _shelf(db), tuple(sorted(guesses_of(db).items()))
    queues = [(row, design, _nearest(design, shelf)) for row in rows for design in [_design(row.document)]]
    looked_at = 0
    for place in range(len(shelf)):
        for row, design, near in queues:
            cloths = _by_role(design, near, place, shelf)
            counts = _counts(cloths, shelf)
            for plan, is_wide in _bundled(design, row.document, counts, guesses):
                if looked_at == MOST_PLANS:
                    return
                looked_at += 1
                drafted = Drafted(design, plan, {role: cloth.id or 0 for role, cloth in cloths.items()})
                minor, needed = _cloth_needed(plan, cloths, unit)
                yield Choice(row.id or 0, row.name, drafted, cloths, is_wide, minor, needed)


def _shelf(db: Reading) -> dict[int, tuple[Cloth, ClothCounts]]:
    """The cloths that are counted both ways."""
    cloths = db.exec(select(Cloth).where(col(Cloth.put_away).is_(False)).order_by(col(Cloth.name)).limit(200)).all()
    read = readings_that_count(db, [cloth.id for cloth in cloths if cloth.id is not None])
    found = {}
    for cloth in cloths:
        now = counts_from(read.get(cloth.id or 0, []))
        if now.warp is not None and now.weft is not None and cloth.id is not None:
            found[cloth.id] = cloth, ClothCounts(now.warp.threads_per_cm, now.weft.threads_per_cm)
    return found


def _nearest(design: Design, shelf: Mapping[int, tuple[Cloth, ClothCounts]]) -> dict[str, list[int]]:
    """For every role the cloths of the shelf, the one with counts most like the design's own first."""
    return {
        role.role: sorted(shelf, key=lambda number: (_unlike(role.counts, shelf[number][1]), number))
        for role in design.cloths
    }


def _unlike(one: ClothCounts, other: ClothCounts) -> float:
    return abs(log(one.warp_per_cm / other.warp_per_cm)) + abs(log(one.weft_per_cm / other.weft_per_cm))


def _by_role(
    design: Design, near: Mapping[str, list[int]], place: int, shelf: Mapping[int, tuple[Cloth, ClothCounts]]
) -> dict[str, Cloth]:
    """The cloths of the place-th choice: the first role's varies, every other keeps the nearest."""
    first = design.cloths[0].role
    return {role: shelf[numbers[place if role == first else 0]][0] for role, numbers in near.items()}


def _counts(cloths: Mapping[str, Cloth], shelf: Mapping[int, tuple[Cloth, ClothCounts]]) -> Counted:
    return tuple((role, shelf[cloth.id or 0][1]) for role, cloth in cloths.items())


@lru_cache(maxsize=4 * MOST_PLANS)
def _design(document: str) -> Design:
    return read_design(document)


def _bundled(
    design: Design, document: str, counts: Counted, guesses: tuple[tuple[str, float], ...]
) -> Iterator[tuple[GarmentPlan, bool]]:
    """The plan with the design's threads to the bundle; on finer cloth, where that is fewer knots, with its widths."""
    narrow = _plan(document, counts, guesses, "keep_threads")
    yield narrow, False
    own = design.cloths[0].counts
    finer = max(counts[0][1].warp_per_cm / own.warp_per_cm, counts[0][1].weft_per_cm / own.weft_per_cm)
    if finer > FINER:
        wide = _plan(document, counts, guesses, "keep_width")
        if wide.knots_after < narrow.knots_after:
            yield wide, True


@lru_cache(maxsize=4 * MOST_PLANS)
def _plan(
    document: str,
    counts: Counted,
    guesses: tuple[tuple[str, float], ...],
    bundle: BundleChoice,
) -> GarmentPlan:
    design = _design(document)
    choices = {section.key: SectionChoice(bundle=bundle) for section in design.every_section}
    return plan_garment(design, dict(counts), choices, dict(guesses))


def _cloth_needed(plan: GarmentPlan, cloths: Mapping[str, Cloth], unit: CountUnit) -> tuple[int, dict[int, int]]:
    """What the panels' cloth comes to at the shelf's prices, and how much of each is needed."""
    needed: dict[int, int] = {}
    total = Fraction(0)
    by_id = {cloth.id or 0: cloth for cloth in cloths.values()}
    for number, cloth in by_id.items():
        blocks = tuple(
            Block(panel.name, panel.cut_width_mm, panel.cut_height_mm)
            for panel in plan.panels
            if (cloths[panel.cloth].id or 0) == number
        )
        if blocks:
            needed[number] = _length_um(blocks, cloth.width_um, shrink_percents(cloth))
            total += cost_minor(cloth.price_minor_per_m or 0, needed[number], unit)
    return half_up(total), needed


@lru_cache(maxsize=4 * MOST_PLANS)
def _length_um(blocks: tuple[Block, ...], width_um: int, shrink: tuple[float, float]) -> int:
    try:
        return round(plan_cloth(ClothAsk(blocks, width_um / 1000, 0, *shrink)).length_mm * 1000)
    except Wrong:
        return sum(to_cut_um(round(block.height_mm * 1000), round(100 * shrink[0])) for block in blocks)
