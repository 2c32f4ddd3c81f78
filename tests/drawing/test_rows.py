"""Rows of knots agree with the trade's counts for every kind, and tie every thread where they should."""

from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.drawing.rows import Row, part_of, rows_of, tied, tied_by_fraction
from service.reckoning.asked import Wrong
from service.reckoning.band_kinds import BandKind, knots_of

KINDS: tuple[BandKind, ...] = get_args(BandKind)


@given(st.sampled_from(KINDS), st.integers(1, 60), st.sampled_from([2, 4, 6]), st.booleans(), st.sampled_from([1, 2]))
def test_the_rows_hold_the_knots_the_reckoning_counts(
    kind: BandKind, bundles: int, threads: int, closed: bool, pair_rows: int
) -> None:
    drawn: dict[str, float] = {}
    for row in rows_of(kind, (threads,) * bundles, pair_rows=pair_rows, closed_round=closed):
        drawn[row.operation] = drawn.get(row.operation, 0) + row.knots
    counted = knots_of(kind, bundles, closed_round=closed, pair_rows=pair_rows)
    assert drawn == {knots.operation: knots.quantity for knots in counted}


def test_a_serpentine_splits_each_bundle_half_and_half() -> None:
    first, second = rows_of("serpentine", (4, 4, 4))
    assert first.edges == (0, 4, 8, 12)
    assert second.edges == (0, 2, 6, 10, 12)


def test_a_closed_serpentine_joins_its_last_half_bundle_to_its_first() -> None:
    _, second = rows_of("serpentine", (4, 4, 4), closed_round=True)
    assert second.edges == (2, 6, 10, 14)
    assert second.knot_of(0) == (2, 0.0)
    assert second.knot_of(11) == (2, 12.0)


def test_a_ladder_ties_the_same_threads_at_both_edges() -> None:
    first, second = rows_of("ladder", (4, 5, 4))
    assert first.edges == second.edges == (0, 4, 9, 13)
    assert first.depth(0) > second.depth(0)


def test_alternating_knots_lie_at_the_two_edges_by_turns() -> None:
    (row,) = rows_of("alternating", (4,) * 4)
    assert [row.depth(knot) for knot in range(4)] == [row.depths[0], row.depths[1]] * 2


def test_the_second_edge_is_worked_from_the_other_end() -> None:
    _, second = rows_of("ladder", (4,) * 5)
    assert [knot for knot in range(5) if second.is_tied(knot, 2)] == [3, 4]
    assert second.next_knot(2) == 2


def test_the_rows_before_an_operation_are_complete_and_those_after_it_untouched() -> None:
    rows = rows_of("ladder_paired", (4,) * 7, pair_rows=2)
    assert [row.done for row in tied(rows, "ladder_knot", 9)] == [7, 2, 0, 0]
    assert [row.done for row in tied(rows, "pair_knot", 4)] == [7, 7, 3, 1]


@given(st.sampled_from(KINDS), st.integers(2, 50), st.floats(0, 1))
def test_a_fraction_ties_none_only_at_nothing_and_all_only_at_the_end(
    kind: BandKind, bundles: int, fraction: float
) -> None:
    rows = rows_of(kind, (4,) * bundles)
    done = sum(row.done for row in tied_by_fraction(rows, fraction))
    every = sum(row.knots for row in rows)
    assert (done == 0) == (fraction == 0)
    assert (done == every) == (fraction == 1)


@given(st.integers(1, 500), st.floats(0, 1))
def test_a_part_is_never_more_than_a_knot_from_its_fraction(whole: int, fraction: float) -> None:
    assert abs(part_of(whole, fraction) - whole * fraction) <= 1


def test_a_thread_outside_every_knot_is_tied_by_none() -> None:
    assert Row("pair_knot", (0, 8), (0.5,)).knot_of(8) is None


def test_a_kind_that_is_no_band_is_refused() -> None:
    with pytest.raises(Wrong, match="'lace' is not a kind of band"):
        rows_of("lace", (4, 4))
