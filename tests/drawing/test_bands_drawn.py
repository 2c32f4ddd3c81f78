"""Bands on a panel: as many pinched bundles as are done, open threads for the rest, to scale."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.drawing.bands import Fineness, Stretch, knotted_band, pinched_band, stretch
from service.reckoning.band_kinds import BAND_KINDS
from service.reckoning.shapes import Rect
from tests.drawing.garments import section
from tests.drawing.markup import extent, inked, paths, points, read, strokes

FINE = Fineness(pitch_mm=2, width_mm=5, unit_mm=0.5)
LIE = stretch(Rect(50, 200, 250, 208), "across", 8)


def drawn(done: float, bundles: int = 20, fine: Fineness = FINE, lie: Stretch = LIE) -> tuple[int, int]:
    """How many bundles are pinched, and how many are open."""
    root = read(f"<g>{pinched_band(lie, section(done, bundles=bundles), fine)}</g>")
    return strokes(paths(root, "d-done")) // 2, strokes(paths(root, "d-thread")) // 2


@given(st.integers(1, 100), st.data())
def test_just_the_bundles_that_are_done_are_pinched(bundles: int, data: st.DataObject) -> None:
    done = data.draw(st.integers(0, bundles))
    assert drawn(done / bundles, bundles) == (done, bundles - done)


def test_a_band_too_fine_to_draw_stands_for_several_bundles_at_a_time() -> None:
    assert drawn(0.5, 400) == (50, 50)


def test_one_bundle_of_a_thousand_shows_that_the_band_is_begun() -> None:
    assert drawn(0.001, 1000) == (1, 99)


def test_one_bundle_short_of_a_thousand_does_not_look_finished() -> None:
    assert drawn(0.999, 1000) == (99, 1)


def test_every_pinched_bundle_has_its_knot() -> None:
    root = read(f"<g>{pinched_band(LIE, section(0.45), FINE)}</g>")
    (knots,) = inked(root, "d-knot")
    line = extent(knots.attrib["d"])
    apart = float(knots.attrib["stroke-dasharray"].split()[1])
    assert int(line.width / apart) + 1 == 9
    assert line.top == line.bottom == 204


def test_a_band_lies_to_scale_between_its_ends() -> None:
    root = read(f"<g>{pinched_band(LIE, section(), FINE)}</g>")
    assert extent(paths(root, "d-edge")) == Rect(50, 200, 250, 208)


def test_work_from_the_far_end_pinches_the_far_bundles() -> None:
    root = read(f"<g>{pinched_band(LIE, replace(section(0.25), worked_from='end'), FINE)}</g>")
    assert extent(paths(root, "d-done")).left > 200


def test_a_band_down_the_cloth_is_the_same_band_turned() -> None:
    down = stretch(Rect(200, 50, 208, 250), "down", 8)
    across = read(f"<g>{pinched_band(LIE, section(0.4), FINE)}</g>")
    turned = read(f"<g>{pinched_band(down, section(0.4), FINE)}</g>")
    for ink in ("d-done", "d-thread", "d-edge"):
        assert [(y, x) for x, y in points(paths(turned, ink))] == list(points(paths(across, ink)))


@pytest.mark.parametrize("kind", BAND_KINDS)
def test_a_kind_untouched_is_all_open_threads_and_done_is_all_drawn_together(kind: str) -> None:
    untouched = read(f"<g>{knotted_band(LIE, section(0, kind=kind), FINE)}</g>")
    done = read(f"<g>{knotted_band(LIE, section(1, kind=kind), FINE)}</g>")
    assert (strokes(paths(untouched, "d-thread")), paths(untouched, "d-done"), paths(untouched, "d-knot")) == (
        40,
        "",
        "",
    )
    assert (paths(done, "d-thread"), strokes(paths(done, "d-done"))) == ("", 40)


@pytest.mark.parametrize(
    ("kind", "knots"),
    [
        ("hem_band", 20),
        ("ladder", 40),
        ("ladder_paired", 50),
        ("serpentine", 41),
        ("alternating", 20),
        ("tuck_band", 20),
    ],
)
def test_a_kind_shows_every_knot_it_has(kind: str, knots: int) -> None:
    root = read(f"<g>{knotted_band(LIE, section(1, kind=kind), FINE)}</g>")
    assert strokes(paths(root, "d-knot")) == knots


@pytest.mark.parametrize("flipped", [False, True], ids=["hem below", "hem above"])
def test_a_hems_knots_lie_at_its_first_edge(flipped: bool) -> None:
    lie = stretch(Rect(50, 200, 250, 208), "across", 8, flipped=flipped)
    root = read(f"<g>{knotted_band(lie, section(1, kind='hem_band'), FINE)}</g>")
    assert {y for _, y in points(paths(root, "d-knot"))} == {200.48 if flipped else 207.52}
