"""How each kind of band is stitched, told in sentences that go with the numbers of its diagram.

The hem knot's order follows The Cult of the Needle, "Simple hemstitching" (from left to right: behind the threads
from right to left, then up through the edge); the second edge The New Dressmaker (Butterick, 1921), p. 120; the
serpentine and the paired ladder T. de Dillmont, Encyclopedia of Needlework (c. 1890), figs 58 and 71 (wound three
times, the third time under the first two rounds). The alternating band and the tuck are common practice, no source.
"""

from dataclasses import dataclass

from service.reckoning.asked import Wrong, whole

BAND_WORDS = {
    "hem_band": "Hem band",
    "ladder": "Ladder",
    "ladder_paired": "Ladder knotted in pairs",
    "serpentine": "Serpentine",
    "alternating": "Alternating band",
    "tuck_band": "Tuck band",
}


@dataclass(frozen=True, slots=True)
class StitchOrder:
    """What to do at each number of the diagram, a sentence each, and what comes when the first edge is done."""

    steps: tuple[str, ...]
    then: str = ""


def stitch_order(kind: str, catch_threads: int | None = None) -> StitchOrder:
    """Return the order of a kind's stitch; `catch_threads` is how many threads of the edge are caught.

    Raises Wrong for a kind that is no band.

    >>> stitch_order("hem_band", 2).steps[3]
    'Down again on the far side, and up from behind through the edge of the hem, catching 2 threads; draw it tight.'
    """
    if kind not in BAND_WORDS:
        raise Wrong("kind", f"{kind!r} is not a kind of band")
    deep = ""
    if catch_threads is not None:
        count = whole("catch_threads", catch_threads)
        deep = ", catching 1 thread" if count == 1 else f", catching {count} threads"
    return StitchOrder(tuple(sentence.format(deep=deep) for sentence in _STEPS[kind]), _THEN.get(kind, ""))


_DOWN = {
    "edge of the hem": (
        "Down again on the far side, and up from behind through the edge of the hem{deep}; draw it tight."
    ),
    "edge of the cloth": (
        "Down again on the far side, and up from behind through the edge of the cloth{deep}; draw it tight."
    ),
    "edge of the tuck": (
        "Down again on the far side, and up from behind through the edge of the tuck{deep}; draw it tight."
    ),
}


def _round(edge: str, across: str = "the bundle", behind: str = "the whole bundle") -> tuple[str, ...]:
    return (
        f"Out of the {edge}, before the bundle.",
        f"Across the front of {across}, and in behind on the far side.",
        f"Behind {behind}, against the way of the work, and out where you began.",
        _DOWN[edge],
    )


_STEPS: dict[str, tuple[str, ...]] = {
    "hem_band": _round("edge of the hem"),
    "ladder": _round("edge of the cloth"),
    "serpentine": _round("edge of the cloth", "half of one bundle and half of the next", "both halves"),
    "tuck_band": _round("edge of the tuck", behind="the bundles of both layers together"),
    "alternating": (
        "Out of the lower edge, before the bundle.",
        "Across the front of the bundle, and in behind on the far side.",
        "Behind the whole bundle, out where you began; down again beyond it, and up through the lower edge{deep}.",
        "Over the front to the upper edge, before the next bundle.",
        "Round that bundle as in a mirror, and from behind through the upper edge{deep}; then down to the next.",
    ),
    "ladder_paired": (
        "Both edges are knotted as a ladder first; a pair is bundles 1 and 2, 3 and 4, and so on.",
        "Round the two bundles together, over the front and back behind them.",
        "A second time round.",
        "A third time, the needle under the first two rounds; draw it close, and go slack to the next pair.",
    ),
}
_THEN = {
    "ladder": (
        "When the first edge is done, turn the work half round, the same side facing you: its last bundle now comes "
        "first, and the same bundles are knotted at the second edge."
    ),
    "serpentine": (
        "The first edge takes whole bundles, 1 to 4 round one bundle each. Turn the work half round: the second edge "
        "takes half of one and half of the next, as drawn; in an open band its first and last knot take one half alone."
    ),
    "ladder_paired": "With two rows of pairs, the second row ties the same pairs near the other edge.",
}
