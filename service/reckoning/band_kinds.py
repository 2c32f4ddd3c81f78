"""The six kinds of band: how many knots their bundles make, in how many rows, and where an even number is wanted.

The kinds and their rows follow T. de Dillmont, Encyclopedia of Needlework (c. 1890), figs 55-58 and 71,
and G. Christie, Embroidery and Tapestry Weaving (1906), fig. 116; a knot an edge and bundle.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal, get_args

from service.reckoning.bundles import clusters
from service.reckoning.operations import Amount, amount

BandKind = Literal["hem_band", "ladder", "ladder_paired", "serpentine", "alternating", "tuck_band"]
BAND_KINDS: tuple[BandKind, ...] = get_args(BandKind)

PAIR_ROW_FROM_EDGE_MM = 3.0  # Dillmont, fig. 71: the first row 3 mm from the top edge, the second from the bottom


@dataclass(frozen=True, slots=True)
class Together:
    """Whole bundles knotted again between the edges: the knot, and how many bundles it gathers."""

    knot: str
    bundles: int


TOGETHER: Mapping[str, Together] = MappingProxyType({"ladder_paired": Together("pair_knot", 2)})
BUNDLES_GATHERED: Mapping[str, int] = MappingProxyType({each.knot: each.bundles for each in TOGETHER.values()})


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
    if kind in TOGETHER:
        again = TOGETHER[kind]
        groups, _ = clusters(bundles, again.bundles)
        gathered = (amount(again.knot, groups * pair_rows),) if groups else ()
        return (amount("ladder_knot", 2 * bundles), *gathered)
    single = {"hem_band": "hem_knot", "alternating": "alternating_knot", "tuck_band": "tuck_knot"}
    return (amount(single[kind], bundles),)


def bundles_come_in(kind: BandKind, *, closed_round: bool) -> int:
    """Return by how many bundles the kind goes: it comes out only on a whole number of so many.

    Pairs are knotted two bundles at a time; a round that alternates must meet its own beginning on the other edge.

    >>> bundles_come_in("alternating", closed_round=True), bundles_come_in("ladder", closed_round=True)
    (2, 1)
    """
    if kind in TOGETHER:
        return TOGETHER[kind].bundles
    return 2 if kind == "alternating" and closed_round else 1


def rows_of_knots_mm(kind: BandKind, width_mm: float, pair_rows: int) -> tuple[float, ...]:
    """Return how far each row of knots lies from the band's first edge, in mm, in the order they are met.

    >>> rows_of_knots_mm("ladder_paired", 9.0, 2)
    (0.0, 3.0, 6.0, 9.0)
    """
    if kind in {"hem_band", "tuck_band"}:
        return (0.0,)
    if kind not in TOGETHER:
        return (0.0, width_mm)
    if pair_rows == 1:
        return (0.0, width_mm / 2, width_mm)
    return (0.0, PAIR_ROW_FROM_EDGE_MM, width_mm - PAIR_ROW_FROM_EDGE_MM, width_mm)
