"""The rows in which a band is worked, against the published figures, so that the next knot is found in the right one.

T. de Dillmont, Encyclopedia of Needlework (c. 1890): fig. 57, the ladder, the same bundles at both edges; fig. 58, the
double hem-stitch, whose second row takes half of one bundle and half of the next; fig. 71, bundles knotted together in
pairs in two rows. The numbers of knots are worked out from her counts of threads.
"""

import pytest

from service.reckoning.stopping import BandInHand, rows_in_order, stopped


def fours(threads: int) -> tuple[int, ...]:
    """Bundles of four, as in G. Christie, Embroidery and Tapestry Weaving (1906), fig. 116."""
    assert threads % 4 == 0
    return (4,) * (threads // 4)


def test_96_threads_in_fours_are_24_bars_and_48_edge_stitches() -> None:
    rows = rows_in_order(BandInHand("ladder", fours(96)), "ladder_knot")
    assert [len(row.threads) for row in rows] == [24, 24]


def test_96_threads_in_fours_are_12_pairs_a_row_in_two_rows() -> None:
    rows = rows_in_order(BandInHand("ladder_paired", fours(96), pair_rows=2), "pair_knot")
    assert [row.threads for row in rows] == [(8,) * 12, (8,) * 12]


@pytest.mark.parametrize(
    ("closed", "second_row"), [(False, (2, *(4,) * 11, 2)), (True, (4,) * 12)], ids=["open", "in the round"]
)
def test_the_second_row_of_48_threads_takes_halves_of_neighbours(second_row: tuple[int, ...], *, closed: bool) -> None:
    first, second = rows_in_order(BandInHand("serpentine", fours(48), closed_round=closed), "ladder_knot")
    assert first.threads == (4,) * 12
    assert second.threads == second_row


def test_after_twelve_bundles_the_thirteenth_knot_is_the_half_at_the_far_end() -> None:
    place = stopped(BandInHand("serpentine", fours(48)), "ladder_knot", 12)
    assert (place.next_number, place.whole_number, place.threads) == (1, 13, 2)
