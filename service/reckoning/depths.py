"""How deep a strip reaches across its panel: a band's withdrawn threads, a tuck's depth, the two together."""

from dataclasses import dataclass

from service.reckoning.counts import threads_in, width_of
from service.reckoning.designs import ClothCounts, Direction, SectionDesign
from service.reckoning.placing import StripDepth
from service.reckoning.plans import DepthChoice


@dataclass(frozen=True, slots=True)
class Depth:
    """A strip's depth on one cloth: the threads withdrawn, and a tuck's from its fold to its knotted line.

    `near_mm` to `far_mm` is the worked strip and `fold_mm` a tuck's fold, from the nearer edge of all that the
    section covers; `reach_mm` is the whole of it, with the tuck laid towards the edge it is placed from.
    """

    withdraw_threads: int | None
    width_mm: float | None
    depth_threads: int | None
    depth_mm: float | None
    near_mm: float
    far_mm: float
    fold_mm: float | None
    reach_mm: float

    def worked(self, distance_mm: float) -> StripDepth:
        """Return where the worked strip lies when the section lies `distance_mm` inside its edge."""
        return distance_mm + self.near_mm, distance_mm + self.far_mm

    def covered(self, distance_mm: float) -> StripDepth:
        """Return all that the section covers when it lies `distance_mm` inside its edge."""
        return distance_mm, distance_mm + self.reach_mm


def drawn_depth(section: SectionDesign, direction: Direction, counts: ClothCounts) -> Depth:
    """Return the strip's depth on the cloth it was drawn up for, to whole threads.

    >>> hem = SectionDesign("front.hem", "Hem", "hem_band", withdraw_threads=6)
    >>> drawn_depth(hem, "across", ClothCounts(20, 20)).width_mm
    3.0
    """
    per_cm = counts.withdrawn_per_cm(direction)
    depth_threads = None if section.depth_mm is None else threads_in(section.depth_mm, per_cm)
    return _depth(section, per_cm, section.withdraw_threads, depth_threads)


def carried_depth(
    section: SectionDesign, direction: Direction, cloths: tuple[ClothCounts, ClothCounts], choice: DepthChoice
) -> Depth:
    """Return the strip's depth carried from the first cloth to the second, by its width or by its threads.

    A tuck's depth is always carried by its measure in mm unless the threads are kept.

    >>> hem = SectionDesign("front.hem", "Hem", "hem_band", withdraw_threads=18)
    >>> inches = (ClothCounts(50 / 2.54, 50 / 2.54), ClothCounts(76 / 2.54, 76 / 2.54))
    >>> carried_depth(hem, "across", inches, "keep_width").withdraw_threads
    27
    """
    drawn = drawn_depth(section, direction, cloths[0])
    if choice == "keep_threads":
        return _depth(section, cloths[1].withdrawn_per_cm(direction), drawn.withdraw_threads, drawn.depth_threads)
    per_cm = cloths[1].withdrawn_per_cm(direction)
    return _depth(
        section,
        per_cm,
        None if drawn.width_mm is None else threads_in(drawn.width_mm, per_cm),
        None if section.depth_mm is None else threads_in(section.depth_mm, per_cm),
    )


def recounted_depth(section: SectionDesign, direction: Direction, counts: ClothCounts, withdrawn: int) -> Depth:
    """Return the strip's depth when `withdrawn` threads turn out to lie in it."""
    drawn = drawn_depth(section, direction, counts)
    return _depth(section, counts.withdrawn_per_cm(direction), withdrawn, drawn.depth_threads)


def _depth(section: SectionDesign, per_cm: float, withdrawn: int | None, depth_threads: int | None) -> Depth:
    width_mm = None if withdrawn is None else width_of(withdrawn, per_cm)
    depth_mm = None if depth_threads is None else width_of(depth_threads, per_cm)
    near_mm, far_mm, fold_mm = _layers(section, width_mm or 0, depth_mm)
    return Depth(withdrawn, width_mm, depth_threads, depth_mm, near_mm, far_mm, fold_mm, far_mm)


def _layers(section: SectionDesign, width_mm: float, depth_mm: float | None) -> tuple[float, float, float | None]:
    """Where the worked strip begins and ends and where the fold lies, from the nearer edge of what is covered."""
    if depth_mm is None:
        return 0, width_mm, None
    if section.kind == "tuck":
        return 0, depth_mm, 0
    if section.opening_inside:
        return depth_mm, depth_mm + width_mm, 0
    # an opening outside lies on both sides of the knotted line; the tuck folds over the nearer one
    knotted_mm = max(depth_mm, width_mm)
    return knotted_mm, knotted_mm + width_mm, knotted_mm - depth_mm
