"""How much working thread a unit of each operation takes: geometry where it follows from the stitch, else a guess.

Running and back stitch: Dillmont, Encyclopedia of Needlework, c. 1890, ch. 1 (forward and back by counted threads);
the thickness of the cloth is added as stitch teaching does for the machine: travel + 2 × thickness × stitches.
Knotting bundles in mid-air: "Needles and Brushes", 1880s, p. 180: about twice the width of the work.
Every other figure is a guess from memory, no source, until the studio has measured what it really used.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

RUNNING_TRAVEL = 1.0  # up over so many threads, down under as many
BACK_STITCH_TRAVEL = 3.0  # forward 6 threads, back 3: 9 threads of travel for every 3 gained
KNOTTING_TRAVEL = 2.0

THICKNESS_MM = 0.2  # a guess for lawn and fine linen
STITCHES_PER_MM = 0.6  # a guess
BUNDLE_MM = 2.0  # four threads at 20 to the cm


@dataclass(frozen=True, slots=True)
class ThreadRate:
    """Thread for one unit: `fixed_mm`, and `travel` times the width one unit takes.

    `width_means` says which width; `usual_width_mm` stands in when it is not given. `uncut` thread runs in one
    length from end to end. `guessed` marks what is neither geometry nor published.
    """

    fixed_mm: float
    travel: float = 0.0
    width_means: str = ""
    usual_width_mm: float = 0.0
    guessed: bool = True
    uncut: bool = False

    def per_unit_mm(self, width_mm: float | None = None) -> float:
        """Return the thread for one unit in mm.

        >>> THREAD_RATES["pair_knot"].per_unit_mm(25)
        50.0
        """
        return self.fixed_mm + self.travel * (self.usual_width_mm if width_mm is None else width_mm)


def thread_ratio(travel: float, thickness_mm: float, stitches_per_mm: float) -> float:
    """Return the thread used for a length of seam: the travel along it, and twice the thickness at each stitch.

    >>> thread_ratio(1.0, 0.2, 0.5)
    1.2
    """
    return travel + 2 * thickness_mm * stitches_per_mm


def _along_cm(travel: float) -> ThreadRate:
    """For each cm of a seam of that travel.

    >>> round(_along_cm(RUNNING_TRAVEL).per_unit_mm(), 9)
    12.4
    """
    return ThreadRate(10 * thread_ratio(travel, THICKNESS_MM, STITCHES_PER_MM), guessed=False)


def _round_bundle(catch_mm: float) -> ThreadRate:
    """Behind the bundle, round in front and on: a back stitch as wide as the bundle, and what the knot catches.

    >>> hem = _round_bundle(4.0)
    >>> hem.per_unit_mm(), hem.width_means
    (10.0, 'one bundle')
    """
    return ThreadRate(catch_mm, BACK_STITCH_TRAVEL, "one bundle", BUNDLE_MM)


THREAD_RATES: Mapping[str, ThreadRate] = MappingProxyType(
    {
        "baste": _along_cm(RUNNING_TRAVEL),
        "edge_stitch": _along_cm(BACK_STITCH_TRAVEL),
        "seam": _along_cm(BACK_STITCH_TRAVEL),
        "stitch_bias": _along_cm(BACK_STITCH_TRAVEL),
        "hem_knot": _round_bundle(4.0),
        "ladder_knot": _round_bundle(2.0),
        "tuck_knot": _round_bundle(6.0),
        "alternating_knot": ThreadRate(BACK_STITCH_TRAVEL * BUNDLE_MM, 1.0, "the band, from edge to edge", 9.0),
        "pair_knot": ThreadRate(0.0, KNOTTING_TRAVEL, "a pair of bundles", 2 * BUNDLE_MM, guessed=False, uncut=True),
        "bias_join": ThreadRate(0.0, BACK_STITCH_TRAVEL * 2**0.5, "the strip as cut", 40.0, guessed=False),
        "whip_bias": ThreadRate(25.0),
        "lace": ThreadRate(25.0),
        "secure": ThreadRate(60.0),
        "embroider": ThreadRate(1500.0),
        "closure": ThreadRate(600.0),
    }
)
