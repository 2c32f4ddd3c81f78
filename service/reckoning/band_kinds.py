"""The six kinds of band: how many knots their bundles make, in how many rows, and where an even number is wanted.

The kinds and their rows follow T. de Dillmont, Encyclopedia of Needlework (c. 1890), figs 55-58 and 71,
and G. Christie, Embroidery and Tapestry Weaving (1906), fig. 116; a knot an edge and bundle.
"""

from typing import Literal, get_args

from service.reckoning.bundles import clusters
from service.reckoning.operations import Amount, amount

BandKind = Literal["hem_band", "ladder", "ladder_paired", "serpentine", "alternating", "tuck_band"]
BAND_KINDS: tuple[BandKind, ...] = get_args(BandKind)

PAIR_ROW_FROM_EDGE_MM = 3.0  # Dillmont, fig. 71: the first row 3 mm from the top edge, the second from the bottom
BUNDLES_PAIRED = 2


def knots_of(kind: BandKind, bundles: int, *, closed_round: bool, pair_rows: int) -> tuple[Amount, ...]:
    """Return the knots that `bundles` whole bundles make; `pair_rows` is used by a paired ladder only.

    >>> [(knot.operation, knot.quantity) for knot in
    ...  knots_of("ladder_paired", 24, closed_round=False, pair_rows=2)]
    [('ladder_knot', 48), ('pair_knot', 24)]
    """
    if bundles == 0:
        return ()
    if kind == "serpentine":
        return (amount("ladder_knot", 2 * bundles + (0 if closed_round else 1)),)
    if kind == "ladder":
        return (amount("ladder_knot", 2 * bundles),)
    if kind == "ladder_paired":
        pairs, _ = clusters(bundles, BUNDLES_PAIRED)
        paired = (amount("pair_knot", pairs * pair_rows),) if pairs else ()
        return (amount("ladder_knot", 2 * bundles), *paired)
    single = {"hem_band": "hem_knot", "alternating": "alternating_knot", "tuck_band": "tuck_knot"}
    return (amount(single[kind], bundles),)


def wants_even_bundles(kind: BandKind, *, closed_round: bool) -> bool:
    """Return whether the kind comes out only on an even number of bundles.

    Pairs are knotted two bundles at a time; a round that alternates must meet its own beginning on the other edge.

    >>> wants_even_bundles("alternating", closed_round=True), wants_even_bundles("ladder", closed_round=True)
    (True, False)
    """
    return kind == "ladder_paired" or (kind == "alternating" and closed_round)


def rows_of_knots_mm(kind: BandKind, width_mm: float, pair_rows: int) -> tuple[float, ...]:
    """Return how far each row of knots lies from the band's first edge, in mm, in the order they are met.

    >>> rows_of_knots_mm("ladder_paired", 9.0, 2)
    (0.0, 3.0, 6.0, 9.0)
    """
    if kind in {"hem_band", "tuck_band"}:
        return (0.0,)
    if kind != "ladder_paired":
        return (0.0, width_mm)
    if pair_rows == 1:
        return (0.0, width_mm / 2, width_mm)
    return (0.0, PAIR_ROW_FROM_EDGE_MM, width_mm - PAIR_ROW_FROM_EDGE_MM, width_mm)
