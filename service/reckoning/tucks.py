"""Tucks: what they take up, and where every fold, knotted line and band edge lies on the flat block.

A tuck's depth is fold to knotted line. With a drawn opening the strip lies beyond the knotted line, on both
sides of the fold; it is taken up only when the opening is to lie inside the tuck.
"""

import itertools
import math
from dataclasses import dataclass
from typing import Literal

from service.reckoning.asked import Wrong, above_zero, not_below, whole
from service.reckoning.findings import Finding

Line = Literal["fold", "knotted", "band_edge"]

MOST_TUCKS = 500
LONGEST_MM = 100_000.0  # 100 m: a slip of the keyboard rather than a panel
MOST_THREADS_PER_CM = 1_000.0
# Common practice, no source: under a millimetre off the whole width nobody sees.
WIDTH_OFF_MM = 1.0
# A nanometre: sums of decimal lengths do not come out exact.
DUST_MM = 1e-6


@dataclass(frozen=True, slots=True)
class TucksAsk:
    """`tucks` tucks on a panel that is to finish at `finished_width_mm`.

    `threads_per_cm` counts the threads that run along the folds. `spacing_mm` is fold to fold on the finished
    panel; left out, the tucks divide the finished width into equal spaces, the two at the edges included.
    `band_width_mm` is the drawn strip on each side of the fold.
    """

    tucks: int
    depth_mm: float
    threads_per_cm: float
    finished_width_mm: float
    spacing_mm: float | None = None
    band_width_mm: float = 0.0
    opening_inside: bool = False


@dataclass(frozen=True, slots=True)
class TuckLine:
    """One line to mark on the flat block; `tuck` counts from 1 at the left.

    `from_centre_mm` is exact, left of the centre below zero; `from_centre_threads` is the whole thread to mark.
    """

    line: Line
    tuck: int
    from_centre_mm: float
    from_centre_threads: int


@dataclass(frozen=True, slots=True)
class TucksPlan:
    """What the tucks take up altogether, the flat block they need, and its lines from left to right.

    `depth_threads` and `band_threads` are counted from the fold, the same number on both sides;
    `finished_by_thread_mm` is the width the panel really finishes at when the lines are marked by whole threads.
    """

    take_up_mm: float
    block_width_mm: float
    spacing_mm: float
    depth_threads: int
    band_threads: int
    finished_by_thread_mm: float
    lines: tuple[TuckLine, ...]
    findings: tuple[Finding, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TuckSpacing:
    """Whole spaces between tucks, the tucks they need, and the spacing fold to fold that fills the width."""

    gaps: int
    tucks: int
    spacing_mm: float


def take_up_mm(depth_mm: float, band_width_mm: float = 0.0, *, opening_inside: bool = False) -> float:
    """Return what one tuck takes up of the panel's width, in mm.

    Twice its depth (Baldt, Clothing for Women, 1916, ch. XXII; Home and School Sewing, ch. XXI); an opening inside
    the tuck is taken up with it, in front and behind.

    >>> take_up_mm(5), take_up_mm(5, 4), take_up_mm(5, 4, opening_inside=True)
    (10, 10, 18)
    """
    return 2 * (depth_mm + band_width_mm if opening_inside else depth_mm)


def nearest_thread(length_mm: float, threads_per_cm: float) -> int:
    """Return the whole thread nearest to a length either side of the centre; halfway goes outwards.

    >>> nearest_thread(5.25, 20), nearest_thread(-5.25, 20)
    (11, -11)
    """
    threads = length_mm * threads_per_cm / 10
    return int(math.copysign(math.floor(abs(threads) + 0.5 + 1e-9), threads))


def tucks_across(finished_width_mm: float, edge_mm: float, spacing_mm: float) -> TuckSpacing:
    """Return how many tucks fill a finished width, and the spacing made even over whole spaces.

    `edge_mm` stays plain on each side; `spacing_mm` is the wished spacing fold to fold on the finished panel. Spaces
    that do not come out whole are rounded up and the spacing is reckoned again (National Instructional Media
    Institute, CITS Dress Making, Trade Practical, p. 209).

    >>> tucks_across(280, 20, 17)
    TuckSpacing(gaps=15, tucks=16, spacing_mm=16.0)
    """
    width_mm = above_zero("finished_width_mm", finished_width_mm, LONGEST_MM)
    spacing = above_zero("spacing_mm", spacing_mm, LONGEST_MM)
    between_mm = width_mm - 2 * not_below("edge_mm", edge_mm, at_most=LONGEST_MM)
    if between_mm <= 0:
        raise Wrong("edge_mm", f"must be under half the finished width ({width_mm:g} mm)")
    if between_mm / spacing > MOST_TUCKS - 1:
        raise Wrong("spacing_mm", f"gives more than {MOST_TUCKS} tucks across {between_mm:g} mm")
    gaps = math.ceil(between_mm / spacing - 1e-9)
    return TuckSpacing(gaps, gaps + 1, between_mm / gaps)


def plan_tucks(ask: TucksAsk) -> TucksPlan:
    """Return the take-up, the block and every line of it, by mm and by thread from the block's centre.

    Folds lie on the whole thread nearest to their place; the knotted lines and drawn strips are counted from the
    fold, the same threads on both sides, so that front and back lie thread over thread. Raises Wrong when the
    tucks cannot lie side by side, or are deeper than half the spacing.

    >>> plan = plan_tucks(TucksAsk(3, 5, 20, 200, spacing_mm=30))
    >>> plan.take_up_mm, plan.block_width_mm, [line.from_centre_mm for line in plan.lines]
    (30, 230, [-45.0, -40.0, -35.0, -5.0, 0.0, 5.0, 35.0, 40.0, 45.0])
    """
    spacing_mm = _checked_spacing_mm(ask)
    depth, band = _offsets_in_threads(ask)
    each_mm = take_up_mm(ask.depth_mm, ask.band_width_mm, opening_inside=ask.opening_inside)
    folds_mm = [(tuck - (ask.tucks - 1) / 2) * (spacing_mm + each_mm) for tuck in range(ask.tucks)]
    _refuse_touching(ask, folds_mm, depth + band)
    total_mm = ask.tucks * each_mm
    each_threads = take_up_mm(depth, band, opening_inside=ask.opening_inside)
    by_thread_mm = ask.finished_width_mm + total_mm - ask.tucks * each_threads * 10 / ask.threads_per_cm
    return TucksPlan(
        take_up_mm=total_mm,
        block_width_mm=ask.finished_width_mm + total_mm,
        spacing_mm=spacing_mm,
        depth_threads=depth,
        band_threads=band,
        finished_by_thread_mm=by_thread_mm,
        lines=_lines(ask, folds_mm, depth, band),
        findings=_findings(ask, spacing_mm, by_thread_mm),
        notes=_notes(ask, total_mm),
    )


def _checked_spacing_mm(ask: TucksAsk) -> float:
    tucks = whole("tucks", ask.tucks, at_most=MOST_TUCKS)
    depth_mm = above_zero("depth_mm", ask.depth_mm, LONGEST_MM)
    above_zero("threads_per_cm", ask.threads_per_cm, MOST_THREADS_PER_CM)
    width_mm = above_zero("finished_width_mm", ask.finished_width_mm, LONGEST_MM)
    not_below("band_width_mm", ask.band_width_mm, at_most=LONGEST_MM)
    if ask.spacing_mm is None:
        spacing_mm = width_mm / (tucks + 1)
    else:
        spacing_mm = above_zero("spacing_mm", ask.spacing_mm, LONGEST_MM)
    alone = tucks == 1 and ask.spacing_mm is None
    if depth_mm > spacing_mm / 2 + DUST_MM and not alone:
        raise Wrong("depth_mm", f"must be at most half the spacing ({spacing_mm:g} mm), not {depth_mm:g}")
    shown_mm = 0.0 if ask.opening_inside else 2 * ask.band_width_mm
    if shown_mm > (spacing_mm if tucks > 1 else width_mm) + DUST_MM:
        room = "spacing" if tucks > 1 else "finished width"
        raise Wrong("band_width_mm", f"must be at most half the {room} while the opening lies outside the tuck")
    if (tucks - 1) * spacing_mm + shown_mm > width_mm + DUST_MM:
        raise Wrong("spacing_mm", f"puts the outer tucks past the finished width ({width_mm:g} mm)")
    return spacing_mm


def _offsets_in_threads(ask: TucksAsk) -> tuple[int, int]:
    depth = nearest_thread(ask.depth_mm, ask.threads_per_cm)
    band = nearest_thread(ask.band_width_mm, ask.threads_per_cm)
    for field, length_mm, threads in (
        ("depth_mm", ask.depth_mm, depth),
        ("band_width_mm", ask.band_width_mm, band),
    ):
        if length_mm > 0 and threads == 0:
            raise Wrong(field, f"is less than one thread at {ask.threads_per_cm:g} threads per cm")
    return depth, band


def _refuse_touching(ask: TucksAsk, folds_mm: list[float], reach: int) -> None:
    folds = [nearest_thread(fold_mm, ask.threads_per_cm) for fold_mm in folds_mm]
    if any(after - before <= 2 * reach for before, after in itertools.pairwise(folds)):
        raise Wrong("spacing_mm", "leaves no whole thread between two tucks: space them wider")


def _lines(ask: TucksAsk, folds_mm: list[float], depth: int, band: int) -> tuple[TuckLine, ...]:
    offsets: list[tuple[Line, float, int]] = [
        ("knotted", -ask.depth_mm, -depth),
        ("fold", 0.0, 0),
        ("knotted", ask.depth_mm, depth),
    ]
    if band:
        edge_mm = ask.depth_mm + ask.band_width_mm
        offsets = [
            ("band_edge", -edge_mm, -depth - band),
            *offsets,
            ("band_edge", edge_mm, depth + band),
        ]
    return tuple(
        TuckLine(line, tuck, fold_mm + by_mm, nearest_thread(fold_mm, ask.threads_per_cm) + by_threads)
        for tuck, fold_mm in enumerate(folds_mm, start=1)
        for line, by_mm, by_threads in offsets
    )


def _findings(ask: TucksAsk, spacing_mm: float, by_thread_mm: float) -> tuple[Finding, ...]:
    found = []
    off_mm = by_thread_mm - ask.finished_width_mm
    if abs(off_mm) > WIDTH_OFF_MM:
        way = "narrower" if off_mm < 0 else "wider"
        found.append(
            Finding(
                "off_by_threads",
                f"Counted by whole threads the panel finishes {abs(off_mm):.1f} mm {way}: "
                "choose a depth of whole threads, or a block that much "
                f"{'wider' if off_mm < 0 else 'narrower'}.",
            )
        )
    whole_depth_mm = ask.depth_mm + (ask.band_width_mm if ask.opening_inside else 0.0)
    if ask.tucks > 1 and whole_depth_mm > spacing_mm / 2 + DUST_MM:
        found.append(
            Finding(
                "covers_space",
                f"With its opening a tuck is {whole_depth_mm:.1f} mm deep and covers more than half of the space "
                "to the next one.",
            )
        )
    if (ask.tucks - 1) * spacing_mm / 2 + whole_depth_mm > ask.finished_width_mm / 2 + DUST_MM:
        found.append(
            Finding("past_edge", "Pressed outwards, the outer tuck reaches past the edge of the finished panel.")
        )
    return tuple(found)


def _notes(ask: TucksAsk, total_mm: float) -> tuple[str, ...]:
    mark = "Mark the centre thread of the block and count every line from it; fold each tuck on its own thread."
    trace = (
        "Before the tucks, trace neck and shoulder only as a guide: the tucks move them. Lay the pattern over again "
        f"when the tucks have taken up their {total_mm:g} mm, then trace and cut."
    )
    if not ask.band_width_mm:
        return (mark, trace)
    pair = (
        "Withdraw the same threads on both sides of the fold, lay the strips thread over thread so that both show "
        "the same standing threads, and catch front and back together in every knot."
    )
    return (mark, pair, trace)
