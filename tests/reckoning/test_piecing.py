"""Two strip ends laid for their join, and joins along an edge."""

import itertools
import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon

from service.reckoning.piecing import EdgeToBind, Piece, join_of, joins_near, pieces_along


def spans(pieces: tuple[Piece, ...]) -> list[tuple[int, float, float]]:
    return [(piece.strip, piece.from_mm, piece.to_mm) for piece in pieces]


@given(st.floats(18, 100), st.floats(2, 12))
def test_the_strips_meet_on_the_stitching_line_and_their_ears_stand_a_seam_above_it(
    cut_mm: float, seam_mm: float
) -> None:
    join = join_of(cut_mm, seam_mm)
    under, upper = Polygon(join.under), Polygon(join.upper)
    stitching = LineString(join.stitching)
    endless = LineString(((-1000, 0), (1000, 0)))
    assert under.intersection(endless).hausdorff_distance(stitching) == pytest.approx(0, abs=1e-6)
    assert upper.intersection(endless).hausdorff_distance(stitching) == pytest.approx(0, abs=1e-6)
    ears = [Polygon(ear) for ear in join.ears]
    above = Polygon(((-1000, 0), (1000, 0), (1000, 1000), (-1000, 1000)))
    outside = upper.symmetric_difference(under).intersection(above)
    assert outside.area == pytest.approx(sum(ear.area for ear in ears))
    for ear in ears:
        assert ear.difference(outside).area == pytest.approx(0, abs=1e-6)
        assert max(endless.distance(Point(corner)) for corner in ear.exterior.coords) == pytest.approx(join.ear_mm)
    assert ears[0].bounds[2] - ears[0].bounds[0] == pytest.approx(join.tips_apart_mm)
    upper_tip = Point(join.upper[0])
    assert upper_tip.distance(under) == pytest.approx(join.beyond_edge_mm)


def test_the_fewest_strips_cover_the_edge_and_the_last_one_stops_at_its_end() -> None:
    edge = EdgeToBind(700, closed=False, join_seam_mm=5)
    half = 5 * math.sqrt(2)
    pieces = pieces_along(edge, [400, 400, 300, 200])
    assert spans(pieces) == [(1, 0, pytest.approx(400 - half)), (2, pytest.approx(400 - half), 700)]


def test_too_little_bias_gives_no_pieces() -> None:
    assert pieces_along(EdgeToBind(700, closed=False, join_seam_mm=5), [400, 300]) == ()
    assert pieces_along(EdgeToBind(700, closed=False, join_seam_mm=0), []) == ()


def test_a_ring_needs_the_length_of_its_closing_join_too() -> None:
    loss = 10 * math.sqrt(2)
    assert len(pieces_along(EdgeToBind(400, closed=False, join_seam_mm=5), [400, 100])) == 1
    ring = pieces_along(EdgeToBind(400, closed=True, join_seam_mm=5), [400, 100])
    assert spans(ring) == [(1, 0, pytest.approx(400 - loss)), (2, pytest.approx(400 - loss), 400)]


def test_spare_length_is_trimmed_at_the_start_to_bring_a_join_off_the_centre_front() -> None:
    edge = EdgeToBind(600, closed=False, join_seam_mm=0, keep_clear_at_mm=(300,), clear_mm=30)
    pieces = pieces_along(edge, [310, 330])
    assert spans(pieces) == [(1, 0, 270), (2, 270, 600)]
    assert joins_near(edge, pieces) == ()


def test_an_open_edge_ends_at_the_centre_front_without_a_join_there_and_a_closed_one_is_joined() -> None:
    pieces = (Piece(1, 0, 300), Piece(2, 300, 500))
    edge = EdgeToBind(500, closed=False, join_seam_mm=0, keep_clear_at_mm=(0, 500), clear_mm=30)
    assert joins_near(edge, pieces) == ()
    assert joins_near(replace(edge, closed=True), pieces) == (0, 500)


def test_the_shortest_strip_goes_first_when_that_clears_the_centre_front() -> None:
    edge = EdgeToBind(500, closed=False, join_seam_mm=0, keep_clear_at_mm=(300,), clear_mm=30)
    pieces = pieces_along(edge, [300, 205])
    assert spans(pieces) == [(2, 0, 205), (1, 205, 500)]


def test_one_more_strip_is_joined_on_when_two_would_meet_at_the_centre_front() -> None:
    edge = EdgeToBind(600, closed=False, join_seam_mm=0, keep_clear_at_mm=(300,), clear_mm=30)
    pieces = pieces_along(edge, [300, 300, 300])
    assert spans(pieces) == [(1, 0, 270), (2, 270, 570), (3, 570, 600)]
    assert joins_near(edge, pieces) == ()


def test_joins_that_cannot_be_moved_are_told() -> None:
    edge = EdgeToBind(600, closed=False, join_seam_mm=0, keep_clear_at_mm=(100, 300), clear_mm=30)
    pieces = pieces_along(edge, [300, 300])
    assert spans(pieces) == [(1, 0, 300), (2, 300, 600)]
    assert joins_near(edge, pieces) == (300,)


def test_a_ring_is_turned_until_its_joins_are_clear() -> None:
    edge = EdgeToBind(600, closed=True, join_seam_mm=0, keep_clear_at_mm=(0, 300), clear_mm=40)
    pieces = pieces_along(edge, [300, 300])
    assert spans(pieces) == [(1, 40, 340), (2, 340, 640)]
    assert joins_near(edge, pieces) == ()


def test_a_ring_counts_its_closing_join_near_the_start_from_either_side() -> None:
    edge = EdgeToBind(600, closed=True, join_seam_mm=0, keep_clear_at_mm=(10, 590), clear_mm=20)
    assert joins_near(edge, (Piece(1, 0, 600),)) == (10, 590)


@st.composite
def edges(draw: st.DrawFn) -> tuple[EdgeToBind, list[float]]:
    edge_mm = draw(st.floats(200, 2000))
    places = draw(st.lists(st.floats(0, edge_mm), max_size=2))
    edge = EdgeToBind(edge_mm, draw(st.booleans()), draw(st.floats(0, 8)), tuple(places), draw(st.floats(0, 40)))
    lengths = draw(st.lists(st.floats(60, 700), min_size=1, max_size=15))
    return edge, sorted(lengths, reverse=True)


@given(edges())
def test_pieces_cover_the_edge_without_a_gap_and_no_strip_is_stretched(
    asked: tuple[EdgeToBind, list[float]],
) -> None:
    edge, lengths = asked
    pieces = pieces_along(edge, lengths)
    loss = 2 * math.sqrt(2) * edge.join_seam_mm
    run = sum(lengths) - (len(lengths) - (not edge.closed)) * loss
    assert bool(pieces) == (run >= edge.edge_mm - 1e-6)
    assert len({piece.strip for piece in pieces}) == len(pieces)
    for before, after in itertools.pairwise(pieces):
        assert before.to_mm == after.from_mm
    for index, piece in enumerate(pieces):
        ends = 2 if edge.closed else (index > 0) + (index < len(pieces) - 1)
        assert 0 < piece.to_mm - piece.from_mm <= lengths[piece.strip - 1] - ends * loss / 2 + 1e-5
    if pieces:
        assert pieces[-1].to_mm - pieces[0].from_mm == pytest.approx(edge.edge_mm)


@given(edges())
def test_a_join_near_a_place_to_keep_clear_stays_only_when_no_trim_or_turn_of_the_strips_helps(
    asked: tuple[EdgeToBind, list[float]],
) -> None:
    edge, lengths = asked
    pieces = pieces_along(edge, lengths)
    if not joins_near(edge, pieces):
        return
    spare_mm = edge.edge_mm
    if not edge.closed:
        used = [lengths[piece.strip - 1] for piece in pieces]
        spare_mm = sum(used) - (len(used) - 1) * 2 * math.sqrt(2) * edge.join_seam_mm - edge.edge_mm
    for step in range(21):
        by = spare_mm * step / 20 * (1 if edge.closed else -1)
        moved = tuple(Piece(piece.strip, piece.from_mm + by, piece.to_mm + by) for piece in pieces)
        assert joins_near(edge, moved) != ()
