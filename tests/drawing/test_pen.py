"""The pen writes few characters and never drifts from where it was told to go."""

from hypothesis import given
from hypothesis import strategies as st

from service.drawing.pen import Pen
from tests.drawing.markup import points

places = st.floats(-2000, 2000)
lines = st.lists(st.tuples(places, places), min_size=2, max_size=40)


@given(lines)
def test_a_run_of_lines_is_never_further_off_than_its_rounding(line: list[tuple[float, float]]) -> None:
    pen = Pen()
    pen.run(line)
    x, y = list(points(pen.d))[-1]
    assert abs(x - line[-1][0]) <= 0.0501
    assert abs(y - line[-1][1]) <= 0.0501


@given(lines)
def test_a_turned_pen_swaps_along_and_across(line: list[tuple[float, float]]) -> None:
    plain, turned = Pen(), Pen(turned=True)
    plain.run([(y, x) for x, y in line])
    turned.run(line)
    assert turned.d == plain.d


def test_stamped_shapes_stand_where_they_are_stamped() -> None:
    pen = Pen()
    shape = pen.shape()
    shape.line(0, 8)
    for at in range(100):
        pen.stamp(at * 1.04, 3, shape)
    tops = list(points(pen.d))[::2]
    assert tops == [(round(at * 1.04, 1), 3.0) for at in range(100)]


def test_curves_are_written_as_steps() -> None:
    pen = Pen()
    pen.move(10, 10)
    pen.bend((12, 14), (10, 18))
    pen.sway((10, 20), (14, 20), (14, 22))
    assert pen.d == "M10 10q2 4 0 8c0 2 4 2 4 4"


def test_a_closed_run_goes_on_from_where_it_began() -> None:
    pen = Pen()
    pen.run(((0, 0), (5, 0), (5, 5)), closed=True)
    pen.run(((10, 10), (11, 10)))
    assert pen.d == "M0 0h5v5zm10 10h1"


def test_whole_numbers_are_enough_where_they_are_asked_for() -> None:
    pen = Pen(places=0)
    pen.run(((0.4, 0.6), (10.6, 3.2)))
    assert pen.d == "M0 1l11 2"
