"""One section on one cloth: its figures, what is odd about it, its steps, and the seconds they may take."""

from dataclasses import dataclass

from service.reckoning.asked import Wrong, whole
from service.reckoning.band_kinds import BAND_KINDS, BandKind
from service.reckoning.bands import BandAsk, BandPlan, LeftOverChoice, LeftOverWay, apply_choice, plan_band
from service.reckoning.counts import MOST_THREADS, threads_in, width_of
from service.reckoning.depths import Depth, drawn_depth, recounted_depth
from service.reckoning.designs import ClothCounts, Direction, SectionDesign
from service.reckoning.findings import Finding
from service.reckoning.guesses import STATED, Guesses, count_felt, seconds_for
from service.reckoning.plans import BundleChoice, SectionFigures
from service.reckoning.steps import PlainWork, StepPlan, section_steps

IN_THE_ROUND: tuple[LeftOverWay, ...] = ("spread", "into_seam")  # a round can be neither shorter nor longer


@dataclass(frozen=True, slots=True)
class Stretch:
    """What there is of a section on one cloth: its depth and length, and how many threads stand along it.

    `number` counts motifs or closures; `open_ends` the ends that reach the cutting line; `room_mm` is how long
    the outline lets it be, None where nothing bounds it.
    """

    length_mm: float
    depth: Depth | None = None
    standing_threads: int = 0
    bundle_threads: int = 0
    number: int = 0
    open_ends: int = 0
    room_mm: float | None = None


@dataclass(frozen=True, slots=True)
class SectionWork:
    """A section in figures and steps. `left_over` is the way taken for odd threads, None where none was needed."""

    figures: SectionFigures
    steps: tuple[StepPlan, ...]
    findings: tuple[Finding, ...] = ()
    choices: tuple[LeftOverChoice, ...] = ()
    left_over: LeftOverWay | None = None


def work_on(
    section: SectionDesign, counts: ClothCounts, stretch: Stretch, way: LeftOverWay | None = None
) -> SectionWork:
    """Return a section's figures and steps on a cloth of these counts; `way` is what is done with odd threads.

    A way that is not open to the band is not taken, and its odd threads wait.
    """
    if section.kind in BAND_KINDS and section.direction is not None:
        return _band(section, counts, stretch, way)
    return _plain(section, counts, stretch)


def replan_section(
    section: SectionDesign,
    counts: ClothCounts,
    *,
    withdraw_threads: int | None = None,
    standing_threads: int,
    bundle_threads: int | None = None,
    way: LeftOverWay | None = None,
) -> SectionWork:
    """Return a band's figures and steps after a recount of the cloth: 391 standing threads, not 396.

    `section` is as drawn up (its mirror is recounted by the same call); `counts` are this cloth's; what is left
    out stays as drawn. Raises Wrong for a section that is no band, and for nonsense.

    >>> ladder = SectionDesign("front.ladder", "Ladder", "ladder", direction="across", withdraw_threads=18)
    >>> found = replan_section(ladder, ClothCounts(20, 20), withdraw_threads=17, standing_threads=391, way="shorter")
    >>> found.figures.bundles, found.figures.standing_threads, found.figures.knots
    (97, 388, 194)
    """
    if not section.is_band or section.direction is None or section.withdraw_threads is None:
        raise Wrong("kind", f"only the threads of a band can be recounted, not of a {section.kind}")
    direction = section.direction
    whole("standing_threads", standing_threads, 1, MOST_THREADS)
    depth = drawn_depth(section, direction, counts)
    if withdraw_threads is not None:
        depth = recounted_depth(section, direction, counts, whole("withdraw_threads", withdraw_threads))
    stretch = Stretch(
        length_mm=width_of(standing_threads, counts.standing_per_cm(direction)),
        depth=depth,
        standing_threads=standing_threads,
        bundle_threads=section.bundle_threads if bundle_threads is None else bundle_threads,
        open_ends=open_ends(section),
    )
    return _band(section, counts, stretch, way or section.left_over)


def carried_bundle(
    section: SectionDesign, direction: Direction, cloths: tuple[ClothCounts, ClothCounts], choice: BundleChoice
) -> int:
    """Return the threads a bundle gathers, carried from the first cloth to the second by its threads or its width.

    At least two; a serpentine halves its bundles, so it takes the nearest even number.

    >>> cloths = (ClothCounts(20, 20), ClothCounts(30, 30))
    >>> ladder = SectionDesign("front.ladder", "Ladder", "ladder", withdraw_threads=18)
    >>> carried_bundle(ladder, "across", cloths, "keep_threads"), carried_bundle(ladder, "across", cloths, "keep_width")
    (4, 6)
    """
    if choice == "keep_threads":
        return section.bundle_threads
    before, after = (cloth.standing_per_cm(direction) for cloth in cloths)
    wide_mm = width_of(section.bundle_threads, before)
    if section.kind == "serpentine":
        return 2 * max(1, threads_in(wide_mm / 2, after))
    return max(2, threads_in(wide_mm, after))


def open_ends(section: SectionDesign) -> int:
    """Return how many ends of a band are without a stop line and reach the cutting line of its own panel.

    >>> from service.reckoning.designs import Placement
    >>> across = (Placement("front", "bottom", 50),)
    >>> open_ends(SectionDesign("front.hem", "Hem", "hem_band", placements=across, stop_lines=0))
    2
    """
    if section.owner == "garment" or section.closed_round:
        return 0
    return min(2 - section.stop_lines, 2 - ends_inside(section))


def ends_inside(section: SectionDesign) -> int:
    """Return how many ends of a strip lie inside the cloth, short of the outline."""
    limits = sum((one.from_mm is not None) + (one.to_mm is not None) for one in section.placements[:1])
    return 2 if section.length_mm is not None or section.standing_threads is not None else limits


def _band(section: SectionDesign, counts: ClothCounts, stretch: Stretch, way: LeftOverWay | None) -> SectionWork:
    depth = stretch.depth
    if depth is None or not stretch.standing_threads:
        return SectionWork(SectionFigures(length_mm=stretch.length_mm), ())
    ask = _ask(section, counts, stretch, depth)
    plan = plan_band(ask)
    choices = tuple(choice for choice in plan.choices if _is_open(choice, section, stretch))
    taken = way if any(choice.way == way for choice in choices) else None
    if taken is not None:
        plan = apply_choice(ask, taken)
    clip_inside = section.clip_inside_threads if section.stop_lines or section.closed_round else None
    steps = section_steps(
        section.kind,
        plan,
        at_cutting_line=stretch.open_ends,
        folded_first=section.folded_first,
        clip_inside_threads=clip_inside,
    )
    return SectionWork(_band_figures(plan, depth), steps, plan.findings, choices, taken)


def _ask(section: SectionDesign, counts: ClothCounts, stretch: Stretch, depth: Depth) -> BandAsk:
    direction: Direction = section.direction or "across"
    per_cm = counts.withdrawn_per_cm(direction)
    return BandAsk(
        kind=_band_kind(section),
        withdrawn_threads_per_cm=per_cm,
        standing_threads_per_cm=counts.standing_per_cm(direction),
        withdraw_threads=depth.withdraw_threads or None,
        width_mm=None if depth.withdraw_threads else width_of(1, per_cm) / 4,  # less than a thread: too narrow
        standing_threads=stretch.standing_threads,
        bundle_threads=stretch.bundle_threads,
        stop_lines=section.stop_lines,
        closed_round=section.closed_round,
        pair_rows=section.pair_rows,
    )


def _band_kind(section: SectionDesign) -> BandKind:
    return next(kind for kind in BAND_KINDS if kind == section.kind)


def _is_open(choice: LeftOverChoice, section: SectionDesign, stretch: Stretch) -> bool:
    if section.closed_round:
        return choice.way in IN_THE_ROUND
    if choice.way in IN_THE_ROUND:
        return True
    fits = stretch.room_mm is None or choice.length_mm <= stretch.room_mm
    return section.stop_lines > 0 and (choice.way == "shorter" or fits)  # without a stop line, none can be moved


def _band_figures(plan: BandPlan, depth: Depth) -> SectionFigures:
    uneven = any(size != plan.ask.bundle_threads for size in plan.bundle_sizes)
    return SectionFigures(
        withdraw_threads=plan.withdraw_threads,
        width_mm=plan.width_mm,
        depth_threads=depth.depth_threads,
        depth_mm=depth.depth_mm,
        standing_threads=plan.standing_threads,
        length_mm=plan.length_mm,
        bundle_threads=plan.ask.bundle_threads,
        bundles=plan.bundles,
        bundle_sizes=plan.bundle_sizes if uneven else (),
        left_over_threads=plan.left_over_threads,
        knots=plan.knots,
    )


def _plain(section: SectionDesign, counts: ClothCounts, stretch: Stretch) -> SectionWork:
    work = PlainWork(length_mm=stretch.length_mm, joins=section.joins, number=stretch.number)
    steps = section_steps(section.kind, work)
    depth = stretch.depth
    figures = SectionFigures(
        width_mm=section.finished_width_mm,
        depth_threads=depth.depth_threads if depth else None,
        depth_mm=depth.depth_mm if depth else None,
        length_mm=stretch.length_mm or None,
    )
    findings = (_no_tuck(counts, section),) if depth and depth.depth_threads == 0 else ()
    return SectionWork(figures, steps, findings)


def felt_count(operation: str, direction: Direction | None, counts: ClothCounts) -> float | None:
    """Return the count that makes an operation finer on a section, None for none.

    A section without a direction (a binding) crosses both systems: theirs is the mean of the two.

    >>> felt_count("clip", "across", ClothCounts(20, 19)), felt_count("whip_bias", None, ClothCounts(34, 32))
    (19, 33.0)
    """
    if direction is None:
        mean = (counts.warp_per_cm + counts.weft_per_cm) / 2
        return count_felt(operation, mean, mean)
    return count_felt(operation, counts.withdrawn_per_cm(direction), counts.standing_per_cm(direction))


def seconds_of(
    steps: tuple[StepPlan, ...],
    direction: Direction | None,
    counts: ClothCounts,
    length_mm: float,
    guesses: Guesses = STATED,
) -> float:
    """Return the guessed seconds of a section's steps; a withdrawn thread is as long as the section."""
    return sum(
        seconds_for(
            step.operation,
            step.quantity,
            felt_count(step.operation, direction, counts),
            length_mm if step.operation == "withdraw" else None,
            guesses,
        )
        for step in steps
    )


def _no_tuck(counts: ClothCounts, section: SectionDesign) -> Finding:
    one_mm = width_of(1, counts.withdrawn_per_cm(section.direction or "across"))
    return Finding(
        "too_narrow",
        f"A tuck {section.depth_mm:g} mm deep is less than half a thread of this cloth: one measures {one_mm:.2f} mm.",
        waits=True,
    )
