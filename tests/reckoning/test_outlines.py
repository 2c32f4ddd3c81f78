"""Outlines: read as SVG writes them, unfolded, followed, mirrored."""

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.reckoning.asked import Wrong
from service.reckoning.designs import PanelDesign
from service.reckoning.outlines import cloth_inside, extent, length_of, line_along, mirrored, outline_points
from service.reckoning.path_text import FLATNESS_MM, FURTHEST_MM, line_of
from service.reckoning.shapes import Point, Rect

SQUARE = ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))


def panel(outline: str, width_mm: float = 100, height_mm: float = 100, *, on_fold: bool = False) -> PanelDesign:
    return PanelDesign("front", "Front", "front", "gown", width_mm, height_mm, outline, on_fold=on_fold)


@pytest.mark.parametrize(
    ("text", "points"),
    [
        ("0,0 10,0 10,20", ((0.0, 0.0), (10.0, 0.0), (10.0, 20.0))),
        ("0 0,10 0\n10 20", ((0.0, 0.0), (10.0, 0.0), (10.0, 20.0))),
        ("M 0,0 L 10,0 10,20 Z", ((0.0, 0.0), (10.0, 0.0), (10.0, 20.0))),
        ("M0,0H10V20H0Z", ((0.0, 0.0), (10.0, 0.0), (10.0, 20.0), (0.0, 20.0))),
        ("M 0,0 10,0 1e1,.5", ((0.0, 0.0), (10.0, 0.0), (10.0, 0.5))),
        ("M 5,5 Z", ((5.0, 5.0),)),
    ],
    ids=[
        "points",
        "points with other spaces",
        "path with repeated L",
        "path without spaces",
        "M goes on as L",
        "a single point",
    ],
)
def test_line_reads_the_same_shape_however_svg_writes_it(text: str, points: tuple[Point, ...]) -> None:
    assert line_of(text) == points


@pytest.mark.parametrize(
    "text",
    [
        "",
        "1,2 3",
        "round the neck",
        "M 0,0 A 5,5 0 0 1 10,10",
        "L 0,0 10,10",
        "M 0,0 L 10,10 M 20,20 L 30,30",
        "M 0,0 L 10",
        "M 0,0 Z 5,5",
        "0,0 nan,1",
        "0,0 1e99,1",
        "0,0 " + "9" * 400 + ",1",
        "0,0 " * 4500,
        "1" * 19_000 + "!",
        "0,0 ١,١",
    ],
    ids=[
        "nothing",
        "half a point",
        "words",
        "an arc",
        "no beginning",
        "two lines",
        "half a step",
        "after the end",
        "not a number",
        "far",
        "endless",
        "too many",
        "long and wrong",
        "other digits",
    ],
)
def test_line_refuses_what_it_cannot_draw_and_names_the_field(text: str) -> None:
    with pytest.raises(Wrong) as refused:
        line_of(text, "along")
    assert refused.value.field == "along"


def test_curve_strays_from_a_circle_by_less_than_a_pencil_line() -> None:
    bow = 100 * 4 / 3 * (math.sqrt(2) - 1)  # the usual four-curve circle, true to 0.03 %
    quarter = line_of(f"M 100,0 C 100,{bow} {bow},100 0,100")
    middles = [((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in pairwise(quarter)]
    assert max(abs(math.hypot(*point) - 100) for point in (*quarter, *middles)) < FLATNESS_MM + 0.05
    assert length_of(quarter) == pytest.approx(50 * math.pi, rel=0.001)


def test_quadratic_curve_is_the_parabola_it_says() -> None:
    curve = line_of("M 0,0 Q 50,100 100,0")
    assert max(abs(y - 2 * x * (100 - x) / 100) for x, y in curve) < 0.01


def test_outline_on_a_fold_is_whole_and_even_on_both_sides() -> None:
    whole = outline_points(panel("50,0 90,0 80,100 50,100", on_fold=True))
    assert extent(whole) == Rect(10, 0, 90, 100)
    assert set(mirrored(whole, 100)) == set(whole)


@pytest.mark.parametrize(
    ("outline", "on_fold"),
    [
        ("0,0 100,100 100,0 0,100", False),
        ("0,0 100,0", False),
        ("0,0 101,0 101,50 0,50", False),
        ("-1,0 50,0 50,50 -1,50", False),
        ("40,0 90,0 90,100 40,100", True),
        ("50,0 90,0 40,50 50,100", True),
    ],
    ids=["crosses itself", "a line", "wider than the block", "left of the block", "off the fold", "over the fold"],
)
def test_outline_that_goes_round_no_cloth_on_the_block_is_refused(outline: str, on_fold: bool) -> None:
    with pytest.raises(Wrong) as refused:
        outline_points(panel(outline, on_fold=on_fold))
    assert refused.value.field == "outline"


def test_outline_runs_clockwise_whichever_way_it_was_drawn() -> None:
    assert line_along(outline_points(panel("0,0 0,100 100,100 100,0")), "0,0 100,0") == ((0.0, 0.0), (100.0, 0.0))


@pytest.mark.parametrize(
    ("along", "length_mm"),
    [("0,0 100,0", 100), ("100,0 0,0", 300), ("50,0 100,50", 100), ("0,50 50,0", 100), ("20,0 20,0", 400)],
    ids=["one side", "the long way", "round a corner", "over the beginning", "all round"],
)
def test_line_along_an_outline_goes_clockwise_between_two_points(along: str, length_mm: float) -> None:
    assert length_of(line_along(SQUARE, along)) == pytest.approx(length_mm)


def test_line_along_snaps_a_point_near_the_outline_and_refuses_one_that_is_not() -> None:
    assert line_along(SQUARE, "0,2 100,-2") == ((0.0, 2.0), (0.0, 0.0), (100.0, 0.0))
    with pytest.raises(Wrong, match="not on the outline"):
        line_along(SQUARE, "0,0 50,50")


def test_line_of_more_than_two_points_is_a_line_of_its_own() -> None:
    assert length_of(line_along(SQUARE, "10,10 10,50 50,50")) == 80
    assert line_along(SQUARE, "M 10,10 L 50,50") == ((10.0, 10.0), (50.0, 50.0))


@given(st.lists(st.tuples(st.integers(0, 600), st.integers(0, 600)), min_size=1, max_size=12), st.integers(1, 600))
def test_mirroring_twice_is_as_before(points: list[tuple[int, int]], width_mm: int) -> None:
    line = tuple((float(x), float(y)) for x, y in points)
    assert mirrored(mirrored(line, width_mm), width_mm) == line


@given(st.integers(20, 280), st.integers(0, 360), st.integers(0, 360))
def test_curved_neckline_stays_on_its_block(half_mm: int, first: int, second: int) -> None:
    text = f"M 300,{first} C 340,{first} 380,{second} {300 + half_mm},{second} L 580,400 H 300 Z"
    try:
        points = outline_points(panel(text, 600, 400, on_fold=True))
    except Wrong:  # a neck that crosses the side
        return
    assert cloth_inside(points).area < 600 * 400
    assert extent(points).right <= 600


def test_a_point_drawn_twice_in_a_path_is_one() -> None:
    assert line_of("M0,0 L0,0 L9,0 L9,0 L9,9") == ((0, 0), (9, 0), (9, 9))


def test_a_point_may_lie_as_far_out_as_is_allowed_and_no_further() -> None:
    assert line_of(f"0,0 {FURTHEST_MM},-{FURTHEST_MM}") == ((0, 0), (FURTHEST_MM, -FURTHEST_MM))
    with pytest.raises(Wrong, match="further out"):
        line_of(f"0,0 {FURTHEST_MM + 0.1},0")
