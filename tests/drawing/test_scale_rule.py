"""The bar of 100 mm and the rules of threads: true to size, a stroke a thread."""

import pytest

from service.drawing.scale_rule import BARS, SIDE_MM, scale_rule
from service.reckoning.asked import Wrong
from tests.drawing.markup import inked, points, read, strokes, view


def test_the_bar_measures_100_mm_of_the_width_it_is_printed_at() -> None:
    root = read(scale_rule(20, 19))
    assert view(root).width == BARS["cm"].width_mm == 108
    bar = inked(root, "d-working")[0].get("d", "")
    across = sorted({x for x, _ in points(bar)})
    assert (across[0], across[-1], len(across)) == (SIDE_MM, SIDE_MM + 100, 101)


def test_every_thread_has_its_stroke_at_its_place() -> None:
    root = read(scale_rule(20, 12.5))
    warp, weft = (part.get("d", "") for part in inked(root, "d-working")[1:])
    assert (strokes(warp), strokes(weft)) == (201, 126)
    across = sorted({x for x, _ in points(weft)})
    assert across[10] == pytest.approx(SIDE_MM + 10 * 0.8, abs=0.01)


def test_the_finest_cloth_stays_light() -> None:
    assert len(scale_rule(900, 900)) < 25_000


@pytest.mark.parametrize("count", [0, -3, float("nan"), float("inf")])
def test_a_count_that_is_none_is_refused(count: float) -> None:
    with pytest.raises(Wrong):
        scale_rule(count, 20)
