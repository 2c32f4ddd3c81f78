"""What is noticed about a band before it is cut: odd numbers, left-over threads, rows too close, curved edges."""

from collections.abc import Mapping
from itertools import pairwise
from types import MappingProxyType

from service.reckoning.band_kinds import BandKind, rows_of_knots_mm
from service.reckoning.findings import Finding

LEAST_BETWEEN_ROWS_MM = 1.0  # common practice, no source
DUST_MM = 1e-9
NOT_EVEN: Mapping[str, str] = MappingProxyType(
    {
        "ladder_paired": "is an odd number: bundles are knotted together in pairs, so one would stay alone",
        "alternating": "is an odd number: a closed round that alternates would meet its beginning on the same edge",
    }
)


def left_over(standing_threads: int, bundle_threads: int) -> Finding:
    """Return the finding about standing threads that make no whole bundle."""
    bundles, odd = divmod(standing_threads, bundle_threads)
    are = "is" if odd == 1 else "are"
    return Finding(
        "left_over",
        f"{odd} of {standing_threads} standing threads {are} left over after {bundles} bundles of {bundle_threads}: "
        "end the band sooner or later, spread them over the bundles, or run them into a seam.",
        waits=True,
    )


def odd_bundles(kind: BandKind, bundles: int) -> Finding:
    """Return the finding about a number of bundles that the kind does not go by."""
    return Finding("odd_bundles", f"{bundles} bundles {NOT_EVEN[kind]}.", waits=True)


def uneven_bundle(bundle_threads: int) -> Finding:
    """Return the finding about a serpentine's bundle that cannot be halved."""
    near = f"{bundle_threads - 1} or {bundle_threads + 1}" if bundle_threads > 1 else "2"
    return Finding(
        "uneven_bundle",
        f"A serpentine halves each bundle at its second edge, and {bundle_threads} cannot be halved: "
        f"gather {near} threads instead.",
        waits=True,
    )


def too_few(standing_threads: int, bundle_threads: int) -> Finding:
    """Return the finding about a band too short for a single bundle."""
    return Finding(
        "too_few",
        f"{standing_threads} standing threads do not make one bundle of {bundle_threads}: "
        "lengthen the band or gather fewer threads.",
        waits=True,
    )


def too_narrow(width_mm: float, one_thread_mm: float) -> Finding:
    """Return the finding about a width that is less than half a thread of the cloth."""
    return Finding(
        "too_narrow",
        f"{width_mm:.3g} mm is less than half a thread of this cloth, so nothing would be withdrawn: "
        f"one thread measures {one_thread_mm:.2f} mm.",
        waits=True,
    )


def rows_close(kind: BandKind, width_mm: float, pair_rows: int) -> Finding | None:
    """Return a finding when two neighbouring rows of knots lie less than 1 mm apart (common practice, no source).

    >>> print(rows_close("ladder_paired", 6.016, 2).text[:64])
    Two rows of knots would lie only 0.016 mm apart in a band 6.02 m
    """
    rows = rows_of_knots_mm(kind, width_mm, pair_rows)
    gap_mm = min((after - before for before, after in pairwise(rows)), default=LEAST_BETWEEN_ROWS_MM)
    if gap_mm >= LEAST_BETWEEN_ROWS_MM - DUST_MM:
        return None
    lie = f"lie only {gap_mm:.3g} mm apart" if gap_mm >= 0 else "pass each other"
    instead = "knot the pairs in one row only" if pair_rows == 2 else "withdraw more threads"
    return Finding("rows_close", f"Two rows of knots would {lie} in a band {width_mm:.2f} mm wide: {instead}.")
