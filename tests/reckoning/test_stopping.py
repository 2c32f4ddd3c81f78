"""Where a band stopped: the row, the next number in it, and the end it is counted from, for all six kinds."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.drawing.rows import rows_of
from service.drawing.shown import ShownBand
from service.drawing.thread_close_up import passes_of
from service.reckoning.asked import Wrong
from service.reckoning.band_kinds import BAND_KINDS, BandKind, knots_of
from service.reckoning.stopping import BandInHand, Counted, Row, Stopped, rows_in_order, stopped
from service.reckoning.tension import Sample, difference, tension_finding, uneven_finding

UNEVEN = (4, 5, 4, 4, 3, 4)
ROUNDS = [(kind, closed) for kind in BAND_KINDS for closed in (False, True)]


def knots_in(kind: BandKind) -> set[str]:
    return {amount.operation for amount in knots_of(kind, len(UNEVEN), closed_round=False, pair_rows=2)}


@pytest.mark.parametrize(("kind", "closed"), ROUNDS, ids=[f"{kind}, {closed}" for kind, closed in ROUNDS])
def test_the_rows_are_those_that_are_drawn(kind: BandKind, *, closed: bool) -> None:
    drawn = rows_of(kind, UNEVEN, pair_rows=2, closed_round=closed)
    band = BandInHand(kind, UNEVEN, closed_round=closed, pair_rows=2)
    for operation in knots_in(kind):
        told = [row.threads for row in rows_in_order(band, operation)]
        shown = []
        for row in (row for row in drawn if row.operation == operation):
            sizes = [row.edges[knot + 1] - row.edges[knot] for knot in range(row.knots)]
            shown.append(tuple(sizes[::-1] if row.turned else sizes))
        assert told == shown


@pytest.mark.parametrize(("kind", "closed"), ROUNDS, ids=[f"{kind}, {closed}" for kind, closed in ROUNDS])
def test_as_many_knots_as_the_kind_has_and_then_none(kind: BandKind, *, closed: bool) -> None:
    band = BandInHand(kind, UNEVEN, closed_round=closed, pair_rows=2)
    for amount in knots_of(kind, len(UNEVEN), closed_round=closed, pair_rows=2):
        knots = int(amount.quantity)
        places = [stopped(band, amount.operation, done).next_number for done in range(knots + 3)]
        assert None not in places[:knots]
        assert places[knots:] == [None] * 3


@pytest.mark.parametrize(
    ("kind", "operation", "done", "row", "next_number", "whole_number", "threads"),
    [
        ("hem_band", "hem_knot", 2, "along the hem", 3, 6, 4),
        ("ladder", "ladder_knot", 1, "first edge", 2, 6, 5),
        ("ladder", "ladder_knot", 10, "second edge, work turned", 5, 6, 5),
        ("ladder_paired", "pair_knot", 2, "pairs, first row", 3, 3, 7),
        ("ladder_paired", "pair_knot", 3, "pairs, second row", 1, 3, 9),
        ("serpentine", "ladder_knot", 6, "second edge, work turned: half of one bundle and half of the next", 1, 7, 2),
        ("alternating", "alternating_knot", 2, "lower edge", 3, 6, 4),
        ("alternating", "alternating_knot", 3, "upper edge", 4, 6, 4),
        ("tuck_band", "tuck_knot", 4, "along the tuck, both layers together", 5, 6, 3),
    ],
)
def test_the_next_knot_of_each_kind_is_found(
    kind: BandKind, operation: str, done: int, row: str, next_number: int, whole_number: int, threads: int
) -> None:
    counted: Counted = "pair" if operation == "pair_knot" else "knot" if "half" in row else "bundle"
    band = BandInHand(kind, UNEVEN, pair_rows=2, work_direction="right to left")
    assert stopped(band, operation, done) == Stopped(row, counted, next_number, whole_number, threads, "right")


@pytest.mark.parametrize("kind", ["ladder", "tuck_band"])
@pytest.mark.parametrize("stop_lines", [1, 2])
def test_threads_and_clips_are_passed_over_as_they_are_drawn(kind: BandKind, stop_lines: int) -> None:
    ends = ("start", "end")[:stop_lines]
    drawn = ShownBand(kind, "Band", 6, withdraw_threads=11, ends_at=ends)  # type: ignore[arg-type]  # a slice of both
    band = BandInHand(kind, UNEVEN, 11, stop_lines)
    for operation in ("clip", "withdraw"):
        told = [row.words for row in rows_in_order(band, operation)]
        shown = [words.removesuffix(", seen from the back") for words in passes_of(drawn, operation)]
        assert [words.lower() for words in told] == [words.lower() for words in shown]
    assert stopped(band, "clip", 3) == Stopped(rows_in_order(band, "clip")[0].words, "clip", 4, 11)


@given(
    st.sampled_from(BAND_KINDS),
    st.lists(st.integers(1, 9), min_size=2, max_size=9),
    st.booleans(),
    st.sampled_from((1, 2)),
    st.integers(0, 40),
)
def test_every_place_is_one_of_its_row_and_the_rows_take_every_thread_once(
    kind: BandKind, sizes: list[int], closed: bool, pair_rows: int, done: int
) -> None:
    band = BandInHand(kind, tuple(sizes), 7, closed_round=closed, pair_rows=pair_rows)
    knots = {each.operation for each in knots_of(kind, len(sizes), closed_round=closed, pair_rows=pair_rows)}
    for operation in (*knots, "withdraw", "clip"):
        rows = rows_in_order(band, operation)
        place = stopped(band, operation, done)
        before = sum(len(row.threads) for row in rows[: [row.named(0) for row in rows].index(_row_of(rows, done))])
        assert place.next_number == (done - before + 1 if done < sum(len(row.threads) for row in rows) else None)
        whole = sum(sizes) - (sizes[-1] if len(sizes) % 2 else 0) if operation == "pair_knot" else sum(sizes)
        assert {sum(row.threads) for row in rows if row.counted in {"bundle", "knot", "pair"}} <= {whole}


def _row_of(rows: tuple[Row, ...], done: int) -> str:
    """The words of the row in which so many knots end."""
    left = done
    for row in rows:
        if left < len(row.threads):
            return row.named(0)
        left -= len(row.threads)
    return rows[-1].named(0)


@pytest.mark.parametrize(
    ("band", "operation"),
    [
        (BandInHand("ladder", UNEVEN), "hem_knot"),
        (BandInHand("ladder", UNEVEN, 11, stop_lines=0), "clip"),
        (BandInHand("ladder_paired", (4,)), "pair_knot"),
        (BandInHand("serpentine", ()), "ladder_knot"),
    ],
    ids=["other knots", "nothing to clip", "no pair", "no bundle"],
)
def test_work_that_a_band_has_not_is_refused(band: BandInHand, operation: str) -> None:
    with pytest.raises(Wrong, match="is no work that a"):
        stopped(band, operation, 0)


@pytest.mark.parametrize(
    ("taken", "found"), [((26.25, 26.25), False), ((26.3, 26.3), True), ((23.75, 23.75), False), ((23.6, 23.8), True)]
)
def test_hands_more_than_five_parts_in_a_hundred_apart_are_told(taken: tuple[float, float], *, found: bool) -> None:
    assert (tension_finding(Sample(24, 26), Sample(*taken)) is not None) is found


def test_a_closer_hand_is_asked_for_a_looser_thread_and_a_wider_one_for_a_firmer() -> None:
    closer, wider = (tension_finding(Sample(25, 25), Sample(mean, mean)) for mean in (28, 22))
    assert closer is not None
    assert wider is not None
    assert "lies 12 % closer than the work" in closer.text
    assert "with a looser thread" in closer.text
    assert "lies 12 % wider than the work" in wider.text
    assert "with a firmer thread" in wider.text
    assert difference(Sample(25, 25), Sample(22, 22)) == pytest.approx(-0.12)


@pytest.mark.parametrize(
    ("taken", "found"), [((30, 44), True), ((44, 30), True), ((20, 21), False), ((20, 21.1), True), ((36, 35), False)]
)
def test_a_sample_whose_places_differ_is_told_whatever_their_mean(taken: tuple[float, float], *, found: bool) -> None:
    assert (uneven_finding(Sample(*taken)) is not None) is found
