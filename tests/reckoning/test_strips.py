"""Bias strips on a piece of cloth, with shapely as the independent geometry."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, STRtree, box

from service.reckoning.strips import (
    Cutting,
    Rows,
    Strip,
    join_loss_mm,
    joins_of,
    lay_strips,
    rows_of,
    run_mm,
)

ROOT_2 = math.sqrt(2)


@st.composite
def cuttings(draw: st.DrawFn) -> Cutting:
    return Cutting(
        cut_width_mm=draw(st.floats(15, 120)),
        cloth_width_mm=draw(st.floats(20, 1600)),
        cloth_height_mm=draw(st.floats(20, 1600)),
        join_seam_mm=draw(st.sampled_from([0.0, 3.0, 6.35, 10.0])),
        closed=draw(st.booleans()),
        shortest_mm=draw(st.sampled_from([0.0, 0.0, 100.0])),
    )


def corners(*points: tuple[float, float]) -> tuple[object, ...]:
    return tuple((pytest.approx(x), pytest.approx(y)) for x, y in points)


def shape(strip: Strip) -> Polygon:
    return Polygon(strip.outline)


def test_strips_run_edge_to_edge_from_the_corner_and_corner_strips_follow() -> None:
    step = 50 * ROOT_2
    strips = lay_strips(Cutting(50, 300, 200, 6))
    assert [strip.number for strip in strips] == [1, 2, 3, 4, 5, 6]
    assert [strip.edge_to_edge for strip in strips] == [True, False, False, False, False, False]
    legs = [200, 300 - 2 * step, 200 - step, 300 - 3 * step, 200 - 2 * step, 300 - 4 * step]
    assert [strip.length_mm for strip in strips] == pytest.approx([leg * ROOT_2 for leg in legs])
    assert strips[0].outline == corners((0, 0), (step, 0), (step + 200, 200), (200, 200))
    assert strips[1].outline == corners((step, 0), (2 * step, 0), (300, 300 - 2 * step), (300 - step, 300 - 2 * step))
    assert strips[2].outline == corners((0, step), (step, step), (200, 200), (200 - step, 200))


def test_a_tall_piece_gives_the_strips_of_a_wide_one_turned_over() -> None:
    wide, tall = lay_strips(Cutting(50, 300, 200, 6)), lay_strips(Cutting(50, 200, 300, 6))
    assert [strip.length_mm for strip in wide] == [strip.length_mm for strip in tall]
    assert [tuple((y, x) for x, y in strip.outline) for strip in wide] == [strip.outline for strip in tall]


def test_strips_that_a_join_would_eat_are_left_out() -> None:
    assert join_loss_mm(9) > 24.3  # the last of the six strips above
    assert rows_of(Cutting(50, 300, 200, 9)) == Rows(1, 2, 2)
    assert rows_of(Cutting(50, 300, 200, 6)) == Rows(1, 3, 2)


def test_strips_shorter_than_wished_are_left_out() -> None:
    assert rows_of(Cutting(50, 300, 200, 6, shortest_mm=150)) == Rows(1, 1, 1)
    assert rows_of(Cutting(50, 300, 200, 6, shortest_mm=200 * ROOT_2)) == Rows(1)
    assert rows_of(Cutting(50, 300, 200, 6, shortest_mm=200 * ROOT_2 + 0.001)) == Rows(0)
    assert run_mm(Cutting(50, 300, 200, 6, shortest_mm=300)) == 0


def test_one_strip_alone_loses_nothing_to_a_join_but_in_a_ring_it_does() -> None:
    scrap = Cutting(20, 40, 10, 6)
    assert rows_of(scrap) == Rows(1)
    assert run_mm(scrap) == pytest.approx(10 * ROOT_2)
    assert len(lay_strips(scrap)) == 1
    ring = Cutting(20, 40, 10, 6, closed=True)
    assert rows_of(ring) == Rows(0)
    assert run_mm(ring) == 0
    corner_only = Cutting(20, 40, 30, 6)
    assert rows_of(corner_only) == Rows(0, 1, 0)
    assert run_mm(corner_only) == pytest.approx((40 - 20 * ROOT_2) * ROOT_2)


def test_a_piece_too_small_for_the_width_gives_no_strip() -> None:
    nothing = Cutting(50, 60, 60, 6)
    assert (rows_of(nothing), lay_strips(nothing), run_mm(nothing)) == (Rows(0), (), 0)


@pytest.mark.parametrize(
    ("closed", "strips", "joins"), [(False, 0, 0), (False, 1, 0), (False, 5, 4), (True, 0, 0), (True, 5, 5)]
)
def test_a_run_has_a_join_fewer_than_strips_and_a_ring_as_many(closed: bool, strips: int, joins: int) -> None:
    assert joins_of(Cutting(50, 300, 200, 6, closed=closed), strips) == joins


@given(cuttings())
def test_every_strip_lies_on_the_cloth_is_of_the_right_width_and_overlaps_none(cutting: Cutting) -> None:
    cloth = box(0, 0, cutting.cloth_width_mm, cutting.cloth_height_mm).buffer(1e-6)
    strips = lay_strips(cutting)
    shapes = [shape(strip) for strip in strips]
    for strip, polygon in zip(strips, shapes, strict=True):
        assert polygon.is_valid
        assert cloth.covers(polygon)
        assert polygon.area == pytest.approx(strip.length_mm * cutting.cut_width_mm)
        next_begin, next_end = strip.outline[1:3]
        begin, end = strip.outline[0], strip.outline[3]
        assert math.dist(begin, end) == pytest.approx(strip.length_mm)
        assert math.dist(next_begin, next_end) == pytest.approx(strip.length_mm)
        endless = LineString(((begin[0] - 5000, begin[1] - 5000), (begin[0] + 5000, begin[1] + 5000)))
        assert [endless.distance(Point(each)) for each in strip.outline] == pytest.approx(
            [0, cutting.cut_width_mm, cutting.cut_width_mm, 0], abs=1e-6
        )
    touching = STRtree(shapes).query(np.array(shapes, object), predicate="intersects").T.tolist()
    overlaps = [shapes[one].intersection(shapes[other]).area for one, other in touching if one < other]
    assert max(overlaps, default=0.0) < 1e-6


@given(cuttings())
def test_no_strip_could_be_longer_at_either_end(cutting: Cutting) -> None:
    cloth = box(0, 0, cutting.cloth_width_mm, cutting.cloth_height_mm)
    for strip in lay_strips(cutting):
        begin, next_begin, next_end, end = strip.outline
        longer = Polygon((begin, next_begin, *(((x + 0.01), (y + 0.01)) for x, y in (next_end, end))))
        earlier = Polygon((*((x - 0.01, y - 0.01) for x, y in (begin, next_begin)), next_end, end))
        assert not cloth.buffer(1e-6).covers(longer)
        assert not cloth.buffer(1e-6).covers(earlier)


@given(cuttings())
def test_as_many_run_from_edge_to_edge_as_the_sides_allow_and_the_rest_get_shorter(cutting: Cutting) -> None:
    long_mm = max(cutting.cloth_width_mm, cutting.cloth_height_mm)
    short_mm = min(cutting.cloth_width_mm, cutting.cloth_height_mm)
    whole = [strip for strip in lay_strips(cutting) if strip.edge_to_edge]
    if short_mm * ROOT_2 > max(join_loss_mm(cutting.join_seam_mm), cutting.shortest_mm) + 1e-5:
        assert len(whole) == math.floor((long_mm - short_mm) / (cutting.cut_width_mm * ROOT_2))
    assert all(strip.length_mm == pytest.approx(short_mm * ROOT_2) for strip in whole)
    lengths = [strip.length_mm for strip in lay_strips(cutting)]
    assert all(before >= after - 1e-6 for before, after in itertools.pairwise(lengths))


@given(cuttings())
def test_the_run_is_the_sum_of_its_strips_less_its_joins_and_never_more_than_the_area(
    cutting: Cutting,
) -> None:
    lengths = [strip.length_mm for strip in lay_strips(cutting)]
    joins = len(lengths) if cutting.closed else max(0, len(lengths) - 1)
    run = sum(lengths) - joins * 2 * ROOT_2 * cutting.join_seam_mm
    assert run_mm(cutting) == pytest.approx(run, abs=1e-6)
    assert 0 <= run_mm(cutting) * cutting.cut_width_mm <= cutting.cloth_width_mm * cutting.cloth_height_mm


@given(cuttings(), st.floats(0, 1))
def test_starting_away_from_the_corner_never_gives_more(cutting: Cutting, share: float) -> None:
    """The least that may be spared before the first strip is nothing: brute force over other starts."""
    plain = Cutting(
        cutting.cut_width_mm, cutting.cloth_width_mm, cutting.cloth_height_mm, cutting.join_seam_mm, closed=True
    )
    step = plain.cut_width_mm * ROOT_2
    long_mm = max(plain.cloth_width_mm, plain.cloth_height_mm)
    short_mm = min(plain.cloth_width_mm, plain.cloth_height_mm)
    start = share * ((long_mm - short_mm) % step)
    slots = range(-math.ceil((short_mm + start) / step), math.ceil((long_mm - start) / step) + 1)
    legs = [min(short_mm, long_mm - start - (slot + 1) * step) - max(0.0, -start - slot * step) for slot in slots]
    moved = sum(max(0.0, leg * ROOT_2 - join_loss_mm(plain.join_seam_mm)) for leg in legs)
    assert moved <= run_mm(plain) + 1e-3


@given(cuttings(), st.floats(0, 500), st.booleans())
def test_more_cloth_never_gives_less(cutting: Cutting, more_mm: float, across: bool) -> None:
    wider = Cutting(
        cutting.cut_width_mm,
        cutting.cloth_width_mm + (more_mm if across else 0),
        cutting.cloth_height_mm + (0 if across else more_mm),
        cutting.join_seam_mm,
        cutting.closed,
        cutting.shortest_mm,
    )
    assert run_mm(wider) >= run_mm(cutting) - 1e-5
