"""Tucks on a panel: what they take up of the block, and where a tuck's opening and fold lie."""

from dataclasses import replace

import pytest

from service.reckoning.carry import plan_garment
from service.reckoning.depths import carried_depth
from service.reckoning.designs import ClothCounts, ClothDesign, Design, PanelDesign, Placement, SectionDesign
from service.reckoning.shapes import Rect


def design(*sections: SectionDesign, cloth: ClothCounts) -> Design:
    front = PanelDesign("front", "Front", "front", "gown", 300, 400, "10,0 290,0 290,400 10,400", sections=sections)
    return Design("gown", "Gown", (ClothDesign("gown", "Linen", cloth),), (front,))


TUCK = SectionDesign(
    "front.tuck", "Tuck", "tuck", placements=(Placement("front", "bottom", 100),), direction="across", depth_mm=10
)


def test_block_is_cut_larger_by_what_the_tucks_take_up() -> None:
    inside = SectionDesign(
        "front.band",
        "Band in a tuck",
        "tuck_band",
        placements=(Placement("front", "bottom", 130),),
        direction="across",
        depth_mm=12,
        withdraw_threads=8,
        opening_inside=True,
        left_over="into_seam",
        stop_lines=0,
    )
    plan = plan_garment(design(TUCK, inside, cloth=ClothCounts(20, 20)), {"gown": ClothCounts(20, 20)}).panel("front")
    assert (plan.cut_width_mm, plan.cut_height_mm) == (300, 400 + 2 * 10 + 2 * (12 + 4))


def test_tucks_that_share_no_length_take_up_the_block_once() -> None:
    left = replace(TUCK, placements=(Placement("front", "bottom", 100, to_mm=100),))
    right = replace(TUCK, key="front.other", placements=(Placement("front", "bottom", 100, from_mm=150),))
    plan = plan_garment(design(left, right, cloth=ClothCounts(20, 20)), {"gown": ClothCounts(20, 20)})
    assert plan.panel("front").cut_height_mm == 420


@pytest.mark.parametrize(
    ("opening_inside", "strip", "fold_y"),
    [(True, Rect(10, 276, 290, 280), 300), (False, Rect(10, 276, 290, 280), 300)],
    ids=["opening inside the tuck", "opening above the knotted line"],
)
def test_opening_of_a_tuck_lies_beyond_its_knotted_line(opening_inside: bool, strip: Rect, fold_y: float) -> None:
    band = SectionDesign(
        "front.band",
        "Band in a tuck",
        "tuck_band",
        placements=(Placement("front", "bottom", 100),),
        direction="across",
        depth_mm=20,
        withdraw_threads=8,
        opening_inside=opening_inside,
        left_over="into_seam",
        stop_lines=0,
    )
    place = (
        plan_garment(design(band, cloth=ClothCounts(20, 20)), {"gown": ClothCounts(20, 20)})
        .section("front.band")
        .places[0]
        .place
    )
    assert place.strips == (strip,)
    assert place.lines == (((10, fold_y), (290, fold_y)),)


def test_opening_wider_than_its_tuck_is_deep_reaches_past_the_fold() -> None:
    band = SectionDesign(
        "front.band",
        "Shallow tuck",
        "tuck_band",
        placements=(Placement("front", "bottom", 100),),
        direction="across",
        depth_mm=4,
        withdraw_threads=16,
        left_over="into_seam",
        stop_lines=0,
    )
    even = ClothCounts(20, 20)
    place = plan_garment(design(band, cloth=even), {"gown": even}).section("front.band").places[0].place
    assert place.strips == (Rect(10, 284, 290, 292),)
    assert place.lines == (((10, 296), (290, 296)),)


def test_a_band_narrower_than_half_a_thread_of_the_new_cloth_covers_nothing_of_it() -> None:
    """One thread at 40 to the cm is 0.25 mm, a quarter of a thread at 10 to the cm."""
    band = SectionDesign("front.band", "Band", "ladder", withdraw_threads=1)
    carried = carried_depth(band, "across", (ClothCounts(40, 40), ClothCounts(10, 10)), "keep_width")
    assert (carried.withdraw_threads, carried.width_mm, carried.far_mm, carried.reach_mm) == (0, 0, 0, 0)
