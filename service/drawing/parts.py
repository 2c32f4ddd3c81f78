"""A section that lies on several panels, part by part: it is worked through them in the order of its places."""

from collections.abc import Sequence
from dataclasses import dataclass

from service.drawing.shown import End
from service.reckoning.designs import Direction
from service.reckoning.outlines import length_of
from service.reckoning.plans import PanelPlace
from service.reckoning.shapes import Place


@dataclass(frozen=True, slots=True)
class Part:
    """What of a section lies on one panel: its bundles, how much of this part is done, whether the work is here."""

    bundles: int
    done_fraction: float
    reached: bool


def parts(
    places: Sequence[PanelPlace], direction: Direction | None, bundles: int, done_fraction: float
) -> tuple[Part, ...]:
    """Return the parts of a section, one for each of its places.

    >>> from service.reckoning.shapes import Rect
    >>> two = [PanelPlace(name, Place((Rect(0, 0, 200, 5),))) for name in ("front", "back")]
    >>> [(part.bundles, part.done_fraction, part.reached) for part in parts(two, "across", 96, 0.75)]
    [(48, 1.0, False), (48, 0.5, True)]
    """
    done = min(1.0, max(0.0, done_fraction))
    shares = [_extent(place.place, direction) for place in places]
    whole = sum(shares)
    found = []
    for at in range(len(places)):
        start, end = (sum(shares[:at]) / whole, sum(shares[: at + 1]) / whole) if whole else (0.0, 1.0)
        own = round(bundles * end) - round(bundles * start)
        found.append(Part(own, _within(done, start, end), start <= done < end or end == done == 1))
    return tuple(found)


def worked_from(work_direction: str | None, side_worked: str | None) -> End:
    """Return the end the work begins at, seen from the right side: on the wrong side left to right runs back.

    >>> worked_from("left to right", "wrong"), worked_from("right to left", "wrong")
    ('end', 'start')
    """
    leftwards = work_direction == "right to left"
    wrong_side = side_worked == "wrong"
    return "end" if leftwards != wrong_side else "start"


def _within(done: float, start: float, end: float) -> float:
    """How much of the part from `start` to `end` lies within the first `done` of the whole."""
    if end <= start:
        return 1.0 if done >= 1 else 0.0
    return min(1.0, max(0.0, (done - start) / (end - start)))


def _extent(place: Place, direction: Direction | None) -> float:
    if place.strips:
        return sum(strip.height if direction == "down" else strip.width for strip in place.strips)
    return sum(length_of(line) for line in place.lines) or len(place.points)
