"""A continuous bias strip: a square cut on its diagonal, sewn into a tube and cut round and round."""

import bisect
import math
from dataclasses import dataclass

from service.reckoning.asked import Wrong, above_zero, not_below
from service.reckoning.shapes import Point
from service.reckoning.strips import DUST_MM, along_straight_grain_mm

LARGEST_SQUARE_MM = 10_000.0
MOST_LAPS = 10_000
WIDEST_CUT_MM = 5_000.0
LONGEST_MM = 1_000_000.0

Segment = tuple[Point, Point]


@dataclass(frozen=True, slots=True)
class TubeAsk:
    """A strip `cut_width_mm` wide and `length_mm` long, from a square of the given side or from the least."""

    cut_width_mm: float
    length_mm: float
    join_seam_mm: float = 6.35
    square_mm: float | None = None


@dataclass(frozen=True, slots=True)
class TubePlan:
    """The laps of the strip, its whole length, and the least square that is enough, to a micrometre.

    For drawing, in mm: the `square` from corner to corner and the `diagonal` to cut; the two halves sewn side by
    side along `seam` into the slanted piece `sewn`; the lines to cut, `laps`, on it. Its level edges are then sewn
    together `shift_mm` apart, so that each line runs on into the next.
    """

    laps: int
    lap_mm: float
    usable_mm: float
    enough: bool
    square_mm: float
    shift_mm: float
    square: tuple[Point, Point, Point, Point]
    diagonal: Segment
    seam: Segment
    sewn: tuple[Point, Point, Point, Point]
    lap_lines: tuple[Segment, ...]


def laps_of(cut_width_mm: float, square_mm: float, join_seam_mm: float) -> int:
    """Return how many whole laps a square gives: floor((side - 2 seams) / (cut width x √2)).

    >>> laps_of(25.4, 266.7, 6.35)
    7
    """
    across = square_mm - 2 * join_seam_mm
    return max(0, math.floor(across / along_straight_grain_mm(cut_width_mm) + 1e-9))


def lap_mm(square_mm: float, join_seam_mm: float) -> float:
    """Return the length of one lap, in mm: √2 x (side - 3 seams).

    Matching the raw corners of the first seam loses two seams of width, meeting on the stitching line loses three
    of length; both are taken, so that either way of sewing gives at least this much.
    """
    return max(0.0, along_straight_grain_mm(square_mm - 3 * join_seam_mm))


def plan_tube(ask: TubeAsk) -> TubePlan:
    """Return the laps of a continuous strip and the least square for its length.

    Derived from the geometry; it gives the published measured example (K. Michaud, 2020) to 0.02 in. Raises Wrong
    when no square up to 10 m a side is enough, or more than ten thousand laps would be cut.

    >>> plan = plan_tube(TubeAsk(25.4, 2400, square_mm=266.7))
    >>> plan.laps, round(plan.usable_mm / 25.4, 1), plan.enough
    (7, 96.5, True)
    """
    cut = above_zero("cut_width_mm", ask.cut_width_mm, WIDEST_CUT_MM)
    length_mm = above_zero("length_mm", ask.length_mm, LONGEST_MM)
    seam = not_below("join_seam_mm", ask.join_seam_mm, at_most=LARGEST_SQUARE_MM)
    least_mm = least_square_mm(cut, length_mm, seam)
    side = least_mm
    if ask.square_mm is not None:
        side = above_zero("square_mm", ask.square_mm, LARGEST_SQUARE_MM)
    laps = laps_of(cut, side, seam)
    if laps > MOST_LAPS:
        raise Wrong("cut_width_mm", f"gives {laps} laps, more than {MOST_LAPS}: ask for less at a time")
    usable_mm = laps * lap_mm(side, seam)
    shift = along_straight_grain_mm(cut)
    return TubePlan(
        laps=laps,
        lap_mm=lap_mm(side, seam),
        usable_mm=usable_mm,
        enough=usable_mm >= length_mm - DUST_MM,
        square_mm=least_mm,
        shift_mm=shift,
        square=((0.0, 0.0), (side, 0.0), (side, side), (0.0, side)),
        diagonal=((0.0, 0.0), (side, side)),
        seam=((side - seam, 0.0), (side - seam, side)),
        sewn=((0.0, 0.0), (side - 2 * seam, 0.0), (2 * side - 2 * seam, side), (side, side)),
        lap_lines=tuple(((lap * shift, 0.0), (lap * shift + side, side)) for lap in range(laps + 1)),
    )


def least_square_mm(cut_width_mm: float, length_mm: float, join_seam_mm: float) -> float:
    """Return the side of the least square whose laps are as long as asked, to a micrometre.

    All in mm: how wide the strip is cut, how much of it is wanted, the seam of a join. Raises Wrong("length_mm") where
    the largest square that is reckoned with would not do.

    >>> least_square_mm(25.4, 2451.6, 6.35)
    266.699
    """

    def enough_at(side_um: int) -> bool:
        side = side_um / 1000
        laps = laps_of(cut_width_mm, side, join_seam_mm)
        return laps * lap_mm(side, join_seam_mm) >= length_mm - DUST_MM

    most_um = round(LARGEST_SQUARE_MM * 1000)
    if not enough_at(most_um):
        raise Wrong("length_mm", f"needs a square of more than {LARGEST_SQUARE_MM / 1000:g} m a side")
    return bisect.bisect_left(range(most_um), x=True, lo=1, key=enough_at) / 1000
