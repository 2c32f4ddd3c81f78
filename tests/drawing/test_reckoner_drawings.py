"""The reckoner's drawings of tucks, bias, layouts and fit: read as XML, told in words, to scale."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.drawing.bias_drawing import MOST_DRAWN, bias_drawing, join_drawing
from service.drawing.bound_edge_drawing import bound_edge_drawing
from service.drawing.cover_drawing import cover_drawing
from service.drawing.fit_drawing import fit_drawing
from service.drawing.layout_drawing import layout_drawing
from service.drawing.tuck_drawing import WIDTH, tuck_drawing
from service.reckoning.bias import BiasAsk, plan_bias
from service.reckoning.blocks import Block
from service.reckoning.fit import FitAsk, fit_on_the_day
from service.reckoning.fit_garment import MadeFor
from service.reckoning.layout import ClothAsk, plan_cloth
from service.reckoning.piecing import join_of
from service.reckoning.tucks import TucksAsk, plan_tucks
from service.reckoning.yarn import Cover
from tests.drawing.markup import SVG, extent, inked, paths, points, read, strokes, view

BORN = date(2026, 1, 1)


def told(drawing: str) -> str:
    text = read(drawing).find(f"{SVG}desc")
    assert text is not None
    return text.text or ""


def tucks(**more: object) -> str:
    ask = TucksAsk(**{"tucks": 3, "depth_mm": 5, "threads_per_cm": 20, "finished_width_mm": 200, **more})  # type: ignore[arg-type]
    return tuck_drawing(ask, plan_tucks(ask))


def test_every_fold_and_knotted_line_is_drawn_on_the_block() -> None:
    root = read(tucks())
    folds, knotted = (
        [part for part in inked(root, ink) if part.get("stroke-dasharray") == dash]
        for ink, dash in (("d-done", "5 3"), ("d-thread", None))
    )
    # The last line in each ink is the key's.
    assert [strokes(part.get("d", "")) for part in folds] == [3, 1]
    assert [strokes(part.get("d", "")) for part in knotted] == [6, 1]


def test_folds_lie_at_their_distance_from_the_centre() -> None:
    folds = inked(read(tucks(spacing_mm=30)), "d-done")[0].get("d", "")
    across = sorted({x for x, _ in points(folds)})
    per_mm = (WIDTH - 24) / 230
    assert across == pytest.approx([WIDTH / 2 - 40 * per_mm, WIDTH / 2, WIDTH / 2 + 40 * per_mm], abs=0.02)


def test_drawn_strips_stand_beside_both_knotted_lines_of_a_tuck() -> None:
    gaps = inked(read(tucks(band_width_mm=4, tucks=1)), "d-gap")
    per_mm = (WIDTH - 24) / 210
    assert [float(gap.get("width", 0)) for gap in gaps] == pytest.approx([4 * per_mm] * 2, abs=0.02)


def test_tucks_are_told_in_words() -> None:
    assert told(tucks()) == "3 tucks, 30 mm taken up; the block is 230 mm wide."
    assert told(tucks(tucks=1)).startswith("1 tuck, 10 mm taken up")


def test_many_tucks_stay_light_and_carry_no_numbers() -> None:
    drawing = tucks(tucks=500, depth_mm=1, finished_width_mm=10_000)
    assert len(drawing) < 60_000
    assert ">17</text>" not in drawing


def test_the_strips_of_the_cloth_are_drawn_to_scale() -> None:
    plan = plan_bias(BiasAsk(6, "double", 1000, cloth_width_mm=500, cloth_height_mm=400))
    root = read(bias_drawing(plan))
    assert len(inked(root, "d-edge")) == len(plan.strips)
    assert len(inked(root, "d-hem")) == len(plan.pieces)
    first = extent(inked(root, "d-edge")[0].get("d", ""))
    assert (first.left, first.top, first.bottom) == (0, 0, 400)
    assert first.right == pytest.approx(400 + 36 * 2**0.5, abs=0.02)


def test_a_long_cloth_is_drawn_in_part_and_says_so() -> None:
    plan = plan_bias(BiasAsk(6, "double", 1000, cloth_width_mm=1500, cloth_height_mm=60))
    drawing = bias_drawing(plan)
    assert "1500 mm across, in part" in drawing
    assert f"{len(plan.strips)} strips 36 mm wide" in told(drawing)
    assert "of them are drawn" in told(drawing)
    assert view(read(drawing)).width < 6 * 60 * 1.3


def test_thousands_of_strips_stay_light() -> None:
    plan = plan_bias(BiasAsk(1, "single", 1000, cloth_width_mm=20_000, cloth_height_mm=20_000))
    drawing = bias_drawing(plan)
    assert len(inked(read(drawing), "d-edge")) <= MOST_DRAWN < len(plan.strips)


def test_the_ears_of_a_join_stand_the_seam_beyond_the_stitching_line() -> None:
    root = read(join_drawing(join_of(38.1, 6)))
    ears = [part.get("points", "") for part in inked(root, "d-hem")]
    corners = [[tuple(map(float, pair.split(","))) for pair in ear.split()] for ear in ears]
    assert [min(y for _, y in ear) for ear in corners] == [-6, -6]  # 6 mm above the stitching line
    stitching = paths(root, "d-done")
    assert {y for _, y in points(stitching)} == {0}
    assert "Each ear stands 6 mm beyond the stitching line; the tips lie 12 mm apart" in told(
        join_drawing(join_of(38.1, 6))
    )


def test_blocks_lie_where_the_layout_put_them() -> None:
    ask = ClothAsk((Block("front <1>", 400, 700, copies=2),), cloth_width_mm=900, selvedge_mm=20)
    drawing = layout_drawing(ask, plan_cloth(ask))
    rects = inked(read(drawing), "d-open")
    assert [(float(rect.get("x", 0)), float(rect.get("width", 0))) for rect in rects] == [(20, 400), (420, 400)]
    assert [float(gap.get("width", 0)) for gap in inked(read(drawing), "d-gap")] == [20, 20]
    assert told(drawing) == "2 blocks on 900 by 700 mm of cloth."
    assert "front &lt;1&gt;" in drawing


def test_a_name_too_long_for_its_block_is_cut_short() -> None:
    ask = ClothAsk((Block("left sleeve of gown", 200, 300),), cloth_width_mm=900)
    assert "left sle…" in layout_drawing(ask, plan_cloth(ask))


def test_the_fit_is_drawn_on_three_rules_with_the_size_classes() -> None:
    fit = fit_on_the_day(FitAsk("girl", BORN, BORN + timedelta(days=274)))
    drawing = fit_drawing(fit)
    assert ">68</text>" in drawing
    assert ">74</text>" in drawing
    likely = [float(bar.get("width", 0)) for bar in inked(read(drawing), "d-fill")]
    allow = [float(bar.get("width", 0)) for bar in inked(read(drawing), "d-hem")]
    assert len(likely) == 3
    assert [a / b for a, b in zip(likely, allow, strict=True)] == pytest.approx([1.2816 / 1.6449] * 3, abs=0.02)
    assert "made for" not in drawing


def test_where_the_garment_lies_is_marked() -> None:
    fit = fit_on_the_day(FitAsk("girl", BORN, BORN + timedelta(days=274)))
    drawing = fit_drawing(fit, MadeFor(length_cm=62))
    assert "made for up to 62" in drawing
    assert all(0 <= x <= WIDTH for x, _ in points(paths(read(drawing), "d-thread")))


def test_the_bound_edge_shows_its_joins_and_the_places_they_keep_clear_of() -> None:
    ask = BiasAsk(6, "double", 1000, cloth_width_mm=500, cloth_height_mm=400, keep_clear_at_mm=(500,))
    plan = plan_bias(ask)
    drawing = bound_edge_drawing(plan)
    joins = [piece.to_mm for piece in plan.pieces[:-1]]
    slants = [list(points(line.get("d", ""))) for line in inked(read(drawing), "d-done")]
    assert len(plan.pieces) > 1
    assert [(one[0] + other[0]) / 2 for one, other in slants] == pytest.approx(joins, abs=0.01)
    assert all(abs(other[0] - one[0]) == pytest.approx(abs(other[1] - one[1]), abs=0.01) for one, other in slants)
    assert all(abs(at - 500) >= 30 for at in joins)
    assert told(drawing).endswith("30 mm to each side of 500 mm are to be kept clear.")
    assert bound_edge_drawing(plan_bias(BiasAsk(6, "double", 9000, 500, 100))) == ""


@given(
    st.integers(1, 60),
    st.floats(0.1, 400),
    st.floats(1, 80),
    st.floats(0, 50),
    st.booleans(),
)
def test_tucks_that_can_be_reckoned_can_be_drawn(
    number: int, depth_mm: float, per_cm: float, band_mm: float, inside: bool
) -> None:
    ask = TucksAsk(number, depth_mm, per_cm, 900, None, band_mm, opening_inside=inside)
    try:
        plan = plan_tucks(ask)
    except ValueError:
        return
    root = read(tuck_drawing(ask, plan))
    assert view(root).width == WIDTH
    assert "nan" not in paths(root, "d-working")


@given(st.floats(1, 40), st.floats(60, 3000), st.floats(5, 3000), st.floats(0, 12))
def test_bias_that_can_be_reckoned_can_be_drawn(finished: float, width: float, height: float, seam: float) -> None:
    try:
        plan = plan_bias(
            BiasAsk(finished, "double", 500, cloth_width_mm=width, cloth_height_mm=height, join_seam_mm=seam)
        )
    except ValueError:
        return
    seen = view(read(bias_drawing(plan)))
    assert 0 < seen.width < 1e5
    assert view(read(join_drawing(plan.join))).height > 0


@given(st.floats(1, 80), st.floats(1, 80), st.floats(0.1, 60), st.floats(0.1, 60))
def test_any_cloth_can_be_drawn_as_a_scrap_of_plain_weave(
    warp: float, weft: float, k_warp: float, k_weft: float
) -> None:
    root = read(cover_drawing(warp, weft, Cover(k_warp, k_weft)))
    assert 0 < view(root).height < 20_000
    assert strokes(inked(root, "d-done")[0].get("d", "")) == 12  # the warp, behind
    widths = [float(part.get("stroke-width", 0)) for part in inked(root, "d-done")]
    assert max(widths) <= 15  # threads never drawn over each other


def test_threads_touch_where_the_cover_factor_says_so() -> None:
    root = read(cover_drawing(20, 20, Cover(28, 14)))
    assert [inked(root, ink)[0].get("stroke-width") for ink in ("d-done", "d-edge")] == ["15", "7.5"]
