"""Bias binding for an edge: how wide to cut it, the strips a piece of cloth gives, and the least cloth."""

import bisect
import math
from dataclasses import dataclass, replace
from typing import Literal

from service.reckoning.asked import Wrong, above_zero, not_below
from service.reckoning.findings import Finding
from service.reckoning.piecing import EdgeToBind, Join, Piece, join_of, joins_near, pieces_along
from service.reckoning.shapes import Rect
from service.reckoning.strips import (
    DUST_MM,
    ROOT_2,
    Cutting,
    Strip,
    along_straight_grain_mm,
    join_loss_mm,
    joins_of,
    lay_strips,
    rows_of,
    run_mm,
)

Fold = Literal["double", "single"]

# A quarter inch, the seam allowance of the published joins (trade leaflets; common practice).
JOIN_SEAM_MM = 6.35
# Common practice, no source: how far a join stays from the centre front, and what is short for a strip.
CLEAR_MM = 30.0
SHORT_STRIP_MM = 100.0
LONGEST_CLOTH_MM = 100_000.0  # 100 m
LONGEST_EDGE_MM = 1_000_000.0
WIDEST_FINISHED_MM = 1_000.0
MOST_STRIPS = 10_000
MOST_CLEAR = 20


@dataclass(frozen=True, slots=True)
class BiasAsk:
    """An edge to bind, how the binding is folded, and the cloth it is cut from.

    `binding_seam_mm` joins the binding to the edge and is the finished width when left out; `join_seam_mm` joins
    strip to strip. `cloth_height_mm` is along the warp; left out, the least that is enough is taken.
    `keep_clear_at_mm` are places along the edge, such as the centre front, that joins stay `clear_mm` away from.
    """

    finished_width_mm: float
    fold: Fold
    edge_mm: float
    cloth_width_mm: float
    cloth_height_mm: float | None = None
    binding_seam_mm: float | None = None
    join_seam_mm: float = JOIN_SEAM_MM
    closed: bool = False
    shortest_strip_mm: float = 0.0
    keep_clear_at_mm: tuple[float, ...] = ()
    clear_mm: float = CLEAR_MM


@dataclass(frozen=True, slots=True)
class BiasPlan:
    """The strips of the piece of cloth, all joined, and what the edge needs of them.

    `joins` and `usable_mm` are of all strips joined into one run; `pieces` are the fewest that cover the edge, none
    when it is not enough. `cloth_height_mm` is the least along the warp that is enough, to a micrometre;
    `one_strip_height_mm` the least that gives the edge in one strip, None when the cloth is too narrow for that.
    `cloth` is the piece the strips lie on, `edge` what they bind.
    """

    cut_width_mm: float
    cloth: Rect
    strips: tuple[Strip, ...]
    joins: int
    join: Join
    usable_mm: float
    enough: bool
    cloth_height_mm: float
    one_strip_height_mm: float | None
    edge: EdgeToBind
    pieces: tuple[Piece, ...]
    findings: tuple[Finding, ...]
    notes: tuple[str, ...]

    @property
    def strips_mm(self) -> tuple[float, ...]:
        """Usable length of every strip, in mm, edge-to-edge strips first."""
        return tuple(strip.length_mm for strip in self.strips)


def cut_width_mm(finished_width_mm: float, fold: Fold, binding_seam_mm: float | None = None) -> float:
    """Return how wide to cut a binding, in mm, square to its edges.

    Double: twice the seam and two finished widths, six finished widths when the seam equals one (common practice,
    no source). Single: four finished widths (a thread maker's leaflet). Raises Wrong for another fold.

    >>> cut_width_mm(6, "double"), cut_width_mm(6, "single"), cut_width_mm(6, "double", 5)
    (36, 24, 34)
    """
    width_mm = above_zero("finished_width_mm", finished_width_mm, WIDEST_FINISHED_MM)
    if fold not in {"double", "single"}:
        raise Wrong("fold", f"must be double or single, not {fold!r}")
    seam_mm = width_mm
    if binding_seam_mm is not None:
        seam_mm = above_zero("binding_seam_mm", binding_seam_mm, WIDEST_FINISHED_MM)
    return 4 * width_mm if fold == "single" else 2 * (seam_mm + 2 * width_mm)


def plan_bias(ask: BiasAsk) -> BiasPlan:
    """Return the strips, whether they are enough for the edge, and the least cloth that is.

    Strips lie at 45 degrees, the most from edge to edge: floor((long side - short side) / (cut width x √2)), then
    those across the corners. A strip's length is taken along its edge with both ends squared to the straight grain
    along the piece's long side; every join takes 2√2 seam allowances. Raises Wrong when no length of the cloth
    would be enough, or more than ten thousand strips would be cut.

    >>> plan = plan_bias(BiasAsk(6.35, "double", 1000, cloth_width_mm=1500, cloth_height_mm=400))
    >>> plan.enough, plan.joins, plan.cloth_height_mm < 400
    (True, 33, True)
    """
    cut = cut_width_mm(ask.finished_width_mm, ask.fold, ask.binding_seam_mm)
    cutting, edge = _checked(ask, cut)
    least_mm = least_height_mm(cutting, ask.edge_mm)
    if ask.cloth_height_mm is None:
        cutting = replace(cutting, cloth_height_mm=least_mm)
    rows = rows_of(cutting)
    if rows.strips > MOST_STRIPS:
        field = "edge_mm" if ask.cloth_height_mm is None else "cloth_height_mm"
        raise Wrong(field, f"gives {rows.strips} strips, more than {MOST_STRIPS}: ask for less at a time")
    strips = lay_strips(cutting)
    pieces = pieces_along(edge, [strip.length_mm for strip in strips])
    one_mm = _one_strip_height_mm(cutting, ask.edge_mm)
    return BiasPlan(
        cut_width_mm=cut,
        cloth=Rect(0.0, 0.0, cutting.cloth_width_mm, cutting.cloth_height_mm),
        strips=strips,
        joins=joins_of(cutting, rows.strips),
        join=join_of(cut, ask.join_seam_mm),
        usable_mm=run_mm(cutting),
        enough=_is_enough(cutting, ask.edge_mm),
        cloth_height_mm=least_mm,
        one_strip_height_mm=one_mm,
        edge=edge,
        pieces=pieces,
        findings=(
            *_cloth_findings(cutting, ask.edge_mm, least_mm),
            *_piecing_findings(edge, pieces, strips, one_mm),
        ),
        notes=_notes(ask),
    )


def least_height_mm(cutting: Cutting, edge_mm: float) -> float:
    """Return the least cloth along the warp, in mm, whose strips joined are as long as the edge.

    Every strip only grows with the cloth, so the least is found by halving: to a whole micrometre, enough at it and
    too little a micrometre under it. `cutting`'s own height is not used. Raises Wrong, naming the cloth's width or the
    edge, where 100 m of this cloth would not do.

    >>> least_height_mm(Cutting(25, 1500, 1, 6), 1000)
    28.879
    """

    def enough_at(height_um: int) -> bool:
        return _is_enough(replace(cutting, cloth_height_mm=height_um / 1000), edge_mm)

    most_um = round(LONGEST_CLOTH_MM * 1000)
    if enough_at(most_um):
        return bisect.bisect_left(range(most_um), x=True, lo=1, key=enough_at) / 1000
    if along_straight_grain_mm(cutting.cloth_width_mm) <= max(join_loss_mm(cutting.join_seam_mm), cutting.shortest_mm):
        raise Wrong("cloth_width_mm", "is too narrow: a strip across it is too short to be joined")
    raise Wrong("edge_mm", f"needs more than {LONGEST_CLOTH_MM / 1000:g} m of this cloth")


def _checked(ask: BiasAsk, cut: float) -> tuple[Cutting, EdgeToBind]:
    edge_mm = above_zero("edge_mm", ask.edge_mm, LONGEST_EDGE_MM)
    height_mm = 1.0 if ask.cloth_height_mm is None else ask.cloth_height_mm
    cutting = Cutting(
        cut_width_mm=cut,
        cloth_width_mm=above_zero("cloth_width_mm", ask.cloth_width_mm, LONGEST_CLOTH_MM),
        cloth_height_mm=above_zero("cloth_height_mm", height_mm, LONGEST_CLOTH_MM),
        join_seam_mm=not_below("join_seam_mm", ask.join_seam_mm, at_most=WIDEST_FINISHED_MM),
        closed=ask.closed,
        shortest_mm=not_below("shortest_strip_mm", ask.shortest_strip_mm, at_most=LONGEST_EDGE_MM),
    )
    if len(ask.keep_clear_at_mm) > MOST_CLEAR:
        raise Wrong("keep_clear_at_mm", f"names more than {MOST_CLEAR} places")
    for place_mm in ask.keep_clear_at_mm:
        not_below("keep_clear_at_mm", place_mm, at_most=edge_mm)
    not_below("clear_mm", ask.clear_mm, at_most=LONGEST_EDGE_MM)
    return cutting, EdgeToBind(edge_mm, ask.closed, ask.join_seam_mm, ask.keep_clear_at_mm, ask.clear_mm)


def _is_enough(cutting: Cutting, edge_mm: float) -> bool:
    return run_mm(cutting) >= edge_mm - DUST_MM


def _one_strip_height_mm(cutting: Cutting, edge_mm: float) -> float | None:
    """Return the least height whose longest strip is the edge alone, and in a ring its one join too."""
    length_mm = edge_mm + (join_loss_mm(cutting.join_seam_mm) if cutting.closed else 0.0)
    leg = length_mm / ROOT_2
    step = along_straight_grain_mm(cutting.cut_width_mm)
    if cutting.cloth_width_mm < leg:
        return None
    height_mm = leg if cutting.cloth_width_mm >= leg + step else leg + step
    return math.ceil(height_mm * 1000 - 1e-6) / 1000


def _cloth_findings(cutting: Cutting, edge_mm: float, least_mm: float) -> tuple[Finding, ...]:
    found = []
    if not _is_enough(cutting, edge_mm):
        found.append(
            Finding(
                "not_enough",
                f"This piece gives {run_mm(cutting):.0f} mm of binding and the edge needs {edge_mm:.0f} mm: cut "
                f"{math.ceil(least_mm)} mm along the warp.",
            )
        )
    rows = rows_of(cutting)
    if rows.strips and not rows.edge_to_edge:
        found.append(
            Finding("corners_only", "No strip runs from edge to edge of this piece: all lie across its corners.")
        )
    return tuple(found)


def _piecing_findings(
    edge: EdgeToBind, pieces: tuple[Piece, ...], strips: tuple[Strip, ...], one_mm: float | None
) -> tuple[Finding, ...]:
    found = []
    lengths_mm = [strips[piece.strip - 1].length_mm for piece in pieces]
    if len(pieces) > 1 and (shortest_mm := min(lengths_mm)) < SHORT_STRIP_MM - DUST_MM:
        instead = "" if one_mm is None else f" {math.ceil(one_mm)} mm along the warp would give it in one."
        found.append(
            Finding(
                "short_strips",
                f"The edge is pieced from {len(pieces)} strips, the shortest only {shortest_mm:.0f} mm.{instead}",
            )
        )
    near = (
        f"A join comes within {edge.clear_mm:g} mm of {place_mm:g} mm along the edge, a place to keep clear: cut a "
        "larger piece, or bind in longer strips."
        for place_mm in joins_near(edge, pieces)
    )
    return (*found, *(Finding("join_near", text) for text in near))


def _notes(ask: BiasAsk) -> tuple[str, ...]:
    join = (
        "Join strips on the straight grain, right sides together, and slip one past the other until their edges meet "
        f"on the stitching line: each ear stands {ask.join_seam_mm:g} mm beyond it, measured square to the seam."
    )
    if ask.closed:
        return (join,)
    return (join, "The edge's length alone is reckoned: add what the binding turns in at its two ends.")
