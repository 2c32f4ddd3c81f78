"""What washing does to a cloth: a swatch measured before and after, the new counts, and how much larger to cut.

The change is stated as AATCC 135 and ISO 5077 state it: 100 × (after - before) / before, negative for shrinkage,
each way averaged apart.
"""

import math
from dataclasses import dataclass
from statistics import fmean

from service.reckoning.asked import Wrong, above_zero, not_below
from service.reckoning.designs import ClothCounts
from service.reckoning.findings import Finding

LEAST_SWATCH_MM = 500.0  # as reported of the test method: a specimen of at least 50 × 50 cm
MOST_SHRINK_PERCENT = 50.0
SHRINKS_MUCH_PERCENT = 10.0  # traders give 3 to 5 % for linen, up to 10 %: beyond it, measure again
NOTICED_PER_CM = 0.1  # one thread in 10 cm


@dataclass(frozen=True, slots=True)
class Swatch:
    """One swatch's lengths in mm along the warp and along the weft, before and after washing and drying.

    Each way may be measured in several places; give as many lengths after as before.
    """

    warp_before_mm: tuple[float, ...]
    warp_after_mm: tuple[float, ...]
    weft_before_mm: tuple[float, ...]
    weft_after_mm: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class ShrinkTest:
    """How a cloth changed, in per cent (negative for shrinkage), and the shrinkage to cut for (never negative)."""

    warp_change_percent: float
    weft_change_percent: float
    shrink_warp_percent: float
    shrink_weft_percent: float
    findings: tuple[Finding, ...]


def dimensional_change_percent(before_mm: float, after_mm: float) -> float:
    """Return 100 × (after - before) / before, negative for shrinkage, unrounded (reports give it to 0.1 %).

    Source: AATCC 135 and ISO 5077, as excerpted.

    >>> round(dimensional_change_percent(500, 470), 1)
    -6.0
    """
    before = above_zero("before_mm", before_mm)
    return 100 * (above_zero("after_mm", after_mm) - before) / before


def cut_mm(finished_mm: float, shrink_percent: float) -> float:
    """Return what to cut, in mm, so that `finished_mm` is left after shrinking: finished / (1 - s).

    >>> round(cut_mm(1000, 6), 1)
    1063.8
    """
    shrink = not_below("shrink_percent", shrink_percent, at_most=MOST_SHRINK_PERCENT)
    return above_zero("finished_mm", finished_mm) / (1 - shrink / 100)


def to_cut_um(washed_um: int, shrink_bp: int) -> int:
    """Return what to cut off the bolt, in whole µm, so that `washed_um` is left; shrinkage in hundredths of a per cent.

    >>> to_cut_um(520_000, 300)
    536082
    """
    return round(cut_mm(washed_um / 1000, shrink_bp / 100) * 1000)


def shrink_test(swatch: Swatch) -> ShrinkTest:
    """Return the change each way, the shrinkage to cut for, and what to know about the test.

    Raises Wrong for lengths that are missing, not above zero, or not as many after as before.
    """
    warp = _mean_change("warp", swatch.warp_before_mm, swatch.warp_after_mm)
    weft = _mean_change("weft", swatch.weft_before_mm, swatch.weft_after_mm)
    shortest = min(*swatch.warp_before_mm, *swatch.weft_before_mm)
    findings = (*_swatch_findings(shortest), *_change_findings("warp", warp), *_change_findings("weft", weft))
    return ShrinkTest(warp, weft, max(0.0, -warp), max(0.0, -weft), findings)


def counts_after(before: ClothCounts, warp_change_percent: float, weft_change_percent: float) -> ClothCounts:
    """Return the counts after washing: the same threads stand in less cloth.

    Warp threads are counted across the cloth, along the weft; so the weft's change moves the warp count, and the
    warp's change the weft count. Counting the washed cloth again is better than this.

    >>> counts_after(ClothCounts(20, 18), -10, 0)
    ClothCounts(warp_per_cm=20.0, weft_per_cm=20.0)
    """
    return ClothCounts(
        before.warp_per_cm / _kept("weft_change_percent", weft_change_percent),
        before.weft_per_cm / _kept("warp_change_percent", warp_change_percent),
    )


def recount_findings(planned: ClothCounts, now: ClothCounts) -> tuple[Finding, ...]:
    """Return a finding for each way in which a garment planned on `planned` would now be off by a thread in 10 cm."""
    pairs = (
        ("warp", planned.warp_per_cm, now.warp_per_cm),
        ("weft", planned.weft_per_cm, now.weft_per_cm),
    )
    return tuple(_recount_finding(*pair) for pair in pairs if _differs(*pair[1:]))


def _mean_change(way: str, before: tuple[float, ...], after: tuple[float, ...]) -> float:
    if not before:
        raise Wrong(f"{way}_before_mm", "give at least one length")
    if len(before) != len(after):
        sentence = f"must be as many lengths as before washing: {len(before)}, not {len(after)}"
        raise Wrong(f"{way}_after_mm", sentence)
    for place, (one, other) in enumerate(zip(before, after, strict=True)):
        above_zero(f"{way}_before_mm.{place}", one)
        above_zero(f"{way}_after_mm.{place}", other)
    change = dimensional_change_percent(fmean(before), fmean(after))
    if not -MOST_SHRINK_PERCENT <= change <= MOST_SHRINK_PERCENT:
        sentence = f"a change of {change:.0f} % cannot be right for cloth: measure again"
        raise Wrong(f"{way}_after_mm", sentence)
    return change


def _swatch_findings(shortest_mm: float) -> tuple[Finding, ...]:
    if shortest_mm >= LEAST_SWATCH_MM:
        return ()
    text = (
        f"The swatch is only {shortest_mm:g} mm long one way. The test methods ask for at least 50 × 50 cm: "
        "a millimetre misread on a small swatch is a large error on a gown."
    )
    return (Finding("small_swatch", text),)


def _change_findings(way: str, change_percent: float) -> tuple[Finding, ...]:
    if change_percent > 0:
        text = (
            f"The cloth grew {change_percent:.1f} % along the {way}. Nothing is added for that way; "
            "press and measure again before you trust it."
        )
        return (Finding("grew", text),)
    if -change_percent > SHRINKS_MUCH_PERCENT:
        text = (
            f"The cloth shrank {-change_percent:.1f} % along the {way}, more than most cloth does. "
            "Wash the whole length before you cut it, and measure a second swatch."
        )
        return (Finding("shrinks_much", text),)
    return ()


def _kept(name: str, change_percent: float) -> float:
    not_below(name, change_percent, -MOST_SHRINK_PERCENT, MOST_SHRINK_PERCENT)
    return 1 + change_percent / 100


def _differs(planned: float, now: float) -> bool:
    change = abs(now - planned)
    return change > NOTICED_PER_CM or math.isclose(change, NOTICED_PER_CM)


def _recount_finding(way: str, planned: float, now: float) -> Finding:
    text = (
        f"This was planned on {planned:.1f} {way} threads per cm; the cloth now counts {now:.1f} per cm. "
        f"Over 10 cm that is {abs(now - planned) * 10:.0f} threads: carry the counts over again before marking."
    )
    return Finding(f"{way}_recounted", text)
