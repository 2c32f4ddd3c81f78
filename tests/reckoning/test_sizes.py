"""One design in other sizes: what grows and by how much, and what stays."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.reckoning.asked import Wrong
from service.reckoning.carry import own_cloths, plan_garment
from service.reckoning.design_text import read_design
from service.reckoning.design_writing import write_design
from service.reckoning.designs import ClothCounts, Design, Placement
from service.reckoning.grading import Growth, grown
from service.reckoning.mirrors import drawn_up
from service.reckoning.outlines import NEAR_OUTLINE_MM, extent, line_along, outline_points
from service.reckoning.panel_grading import Axis
from service.reckoning.path_text import line_of, moved_line
from service.reckoning.sizes import BUSTS_CM, HEIGHTS_CM, SIDES_CM, SizeRange, body_of, growth, size_range, sized

# A front on the fold with a hem, a band and a tuck above it, a placket down one half back, and a neck for the head.
GOWN = read_design("""
key = "gown"
name = "Gown"
size = "68"

[cloths.gown]
name = "Linen"
warp_per_cm = 20
weft_per_cm = 19

[panels.front]
name = "Front"
side = "front"
cloth = "gown"
block_width_mm = 400
block_height_mm = 640
outline = "M 200,70 C 230,70 246,50 248,20 L 320,40 L 340,620 H 200 Z"
on_fold = true
at_mm = [100, 0]

[panels.front.sections.hem]
name = "Hem"
kind = "hem_band"
direction = "across"
edge = "bottom"
distance_mm = 66
withdraw_threads = 6
stop_lines = 0
left_over = "into_seam"

[panels.front.sections.ladder]
name = "Ladder"
kind = "ladder"
direction = "across"
edge = "bottom"
distance_mm = 100
withdraw_threads = 12
stop_lines = 2
from_mm = 90
to_mm = 310
left_over = "shorter"

[panels.front.sections.tuck]
name = "Tuck"
kind = "tuck"
direction = "across"
edge = "bottom"
distance_mm = 140
depth_mm = 8

[panels.front.sections.sprig]
name = "Sprig"
kind = "motif"
points = "200,120"

[panels.back_right]
name = "Back, right"
side = "back"
cloth = "gown"
block_width_mm = 240
block_height_mm = 640
outline = "M 20,40 Q 60,40 68,20 L 140,40 L 160,620 H 20 Z"

[panels.back_right.sections.placket]
name = "Placket"
kind = "hem_band"
direction = "down"
edge = "left"
distance_mm = 24
to_mm = 300
withdraw_threads = 4
stop_lines = 1
standing_threads = 480
left_over = "shorter"

[panels.back_left]
name = "Back, left"
side = "back"
at_mm = [240, 0]
mirror_of = "back_right"

[sections.neck]
name = "Neck"
kind = "binding"
finished_width_mm = 4
opening = true

[sections.neck.on.front]
along = "152,20 248,20"

[sections.neck.on.back_right]
along = "20,40 68,20"

[sections.shoulder]
name = "Shoulder, as far as the buttons"
kind = "seam"

[sections.shoulder.on.front]
along = "284,30 320,40"

[sections.shoulder.on.back_left]
along = "100,40 136,30"
""")
FACTORS = st.floats(0.6, 1.7)


@pytest.mark.parametrize(
    ("size", "expected"),
    [
        ("68, three to six months", SizeRange("height", 68, HEIGHTS_CM)),
        ("50", SizeRange("height", 50, (50, *HEIGHTS_CM))),
        ("Bust 88 cm", SizeRange("bust", 88, BUSTS_CM)),
        ("27 cm square", SizeRange("side", 27, (20, 24, 27, 32, 36, 40))),
        ("98, two to three years", None),
        ("Bust 62 cm", None),
        ("Bust 120 cm", None),
        ("68 cm square", None),
        ("3 months", None),
        ("", None),
    ],
)
def test_a_size_in_words_says_what_a_design_is_sized_by(size: str, expected: SizeRange | None) -> None:
    assert size_range(size) == expected


def test_bodies_grow_with_their_height_in_age_head_and_girth() -> None:
    bodies = [body_of(height) for height in (50, *HEIGHTS_CM)]
    assert [body.age_days for body in bodies] == [3, 45, 109, 209, 344, 505, 693]
    for was, now in pairwise(bodies):
        assert now.head_mm > was.head_mm
        assert now.girth > was.girth
    for beyond in (49, 92):
        with pytest.raises(Wrong, match="goes from 50 to 86"):
            body_of(beyond)


def test_what_grows_by_how_much_depends_on_what_a_design_is_sized_by() -> None:
    assert growth(SizeRange("height", 68, HEIGHTS_CM), 68) == Growth(1, 1, 1)
    assert growth(SizeRange("bust", 80, BUSTS_CM), 100) == Growth(1.25, 1.0625, 1)
    assert growth(SizeRange("side", 20, SIDES_CM), 28) == Growth(1.4, 1.4, 1.4)


def test_a_size_it_cannot_be_had_in_is_refused_at_its_field() -> None:
    with pytest.raises(Wrong, match=r"^size: must be one of 56, 62, 68, 74, 80, 86, not 70$"):
        sized(GOWN, 70)
    with pytest.raises(Wrong, match="names no height"):
        sized(replace(GOWN, size="small"), 68)


def test_its_own_size_is_the_design_as_it_stands() -> None:
    assert sized(GOWN, 68) is GOWN
    as_it_was = grown(GOWN, Growth(1, 1, 1))
    assert as_it_was == GOWN


def test_another_size_says_so_and_comes_back_from_its_text() -> None:
    larger = sized(GOWN, 86)
    assert (larger.size, larger.note) == (
        "86, body length up to 86 cm",
        "Scaled by rule from “68”: sew it in cheap cloth first.",
    )
    assert sized(replace(GOWN, note="For spring."), 56).note.splitlines()[0] == "For spring."
    assert read_design(write_design(larger)) == larger


def test_hems_tucks_bands_and_seams_keep_their_depth_and_the_cloth_between_them_grows() -> None:
    larger = grown(GOWN, Growth(1.2, 1.5, 1.3))
    was, now = ({section.key: section for section in one.every_section} for one in (GOWN, larger))
    for key, before in was.items():
        after = now[key]
        assert (after.withdraw_threads, after.bundle_threads, after.depth_mm) == (
            before.withdraw_threads,
            before.bundle_threads,
            before.depth_mm,
        )
        assert (after.finished_width_mm, after.stop_lines, after.left_over) == (
            before.finished_width_mm,
            before.stop_lines,
            before.left_over,
        )
    distances = {key: now[f"front.{key}"].placements[0].distance_mm for key in ("hem", "ladder", "tuck")}
    # 6 threads of 19 to the cm are 3.2 mm, 12 are 6.3 mm; 30.8 and 33.7 mm of cloth lay between
    assert distances == {"hem": 66, "ladder": 115.4, "tuck": 172.2}
    assert now["back_right.placket"].placements[0].distance_mm == 24
    assert now["back_right.placket"].standing_threads == 720


def test_a_length_said_in_threads_of_a_band_knotted_in_pairs_grows_by_whole_pairs() -> None:
    back = GOWN.panel("back_right")
    pairs = replace(back, sections=(replace(back.sections[0], kind="ladder_paired", standing_threads=40),))
    larger = grown(replace(GOWN, panels=(GOWN.panels[0], pairs, GOWN.panels[2])), Growth(1, 1.1, 1))
    assert larger.panel("back_right").sections[0].standing_threads == 48  # 44 are 5½ pairs of bundles of four


def test_blocks_grow_by_what_is_not_folded_in() -> None:
    larger = grown(GOWN, Growth(1.2, 1.5, 1.3))
    front, back = larger.panel("front"), larger.panel("back_right")
    # half the front is 140 mm wide; of its 600 mm the hem and its band take 69.2
    assert (front.block_width_mm, front.block_height_mm) == (400 + 2 * 28, 640 + 265)
    # of the back's 140 mm the facing and its band take 26; it has no hem
    assert (back.block_width_mm, back.block_height_mm) == (240 + 23, 640 + 300)


def test_an_opening_grows_with_the_head_save_where_it_runs_over_a_facing() -> None:
    larger = grown(GOWN, Growth(1.1, 1.4, 1.25))
    neck = {one.panel: one.along for one in next(one for one in larger.sections if one.key == "neck").placements}
    # about the middle of the front by 1.25 both ways; on the back only beyond the facing and its band, 26 mm
    assert neck == {"front": "154,20 274,20", "back_right": "20,45 74,20"}
    assert larger.panel("front").outline == "M 214,82 C 252,82 272,58 274,20 L 346,48 L 368,832 H 214 Z"


def test_a_panel_of_the_head_grows_with_it_both_ways() -> None:
    bonnet = replace(GOWN, panels=tuple(replace(panel, grows_by="head") for panel in GOWN.panels))
    front = grown(bonnet, Growth(1.1, 1.4, 1.25)).panel("front")
    assert (front.block_width_mm, front.block_height_mm) == (400 + 2 * 35, 640 + 133)


def test_what_lies_along_a_straight_edge_stays_on_it_on_a_mirrored_panel_too() -> None:
    larger = drawn_up(grown(GOWN, Growth(1.3, 1.1, 0.9)))
    shoulder = next(one for one in larger.sections if one.key == "shoulder")
    for placement in shoulder.placements:
        line = line_along(outline_points(larger.panel(placement.panel)), placement.along)
        assert len(line) == 2


def on_the_fold(fold_mm: float, half_mm: int, depths_mm: tuple[int, int], along: str) -> Design:
    """The front alone, its neck from so deep on the fold to so deep at the shoulder, bound along that line."""
    on_fold, shoulder = depths_mm
    neck = replace(GOWN.sections[0], placements=(Placement("front", along=along),))
    front = replace(
        GOWN.panel("front"),
        block_width_mm=2 * fold_mm,
        outline=f"{fold_mm:g},{on_fold} {fold_mm + half_mm:g},{shoulder} {fold_mm + 140:g},80 {fold_mm + 140:g},620 "
        f"{fold_mm:g},620",
        sections=(),
    )
    return replace(GOWN, panels=(front,), sections=(neck,))


@pytest.mark.parametrize(
    ("depths_mm", "along"),
    [
        ((20, 50), "200,20 248,50"),
        ((20, 20), "200,20 248,20"),
        ((50, 20), "152,20 200,50"),
        ((50, 20), "152,22 248,20"),
    ],
    ids=["highest on the fold", "level", "said of the other half", "said not quite level"],
)
def test_an_opening_on_the_fold_grows_about_it(depths_mm: tuple[int, int], along: str) -> None:
    larger = sized(on_the_fold(200, 48, depths_mm, along), 86)  # across by 1.074, the head by 1.097
    (fold, _), (end, _) = line_of(larger.panel("front").outline)[:2]
    assert (fold, end - fold) == (210, 53)  # 48 mm by 1.097 are 52.7, by 1.074 they were 51.6


@given(
    size=st.sampled_from(HEIGHTS_CM),
    twice_fold_mm=st.integers(320, 480),
    half_mm=st.integers(20, 90),
    depths_mm=st.tuples(st.integers(0, 60), st.integers(0, 60)),
    which=st.sampled_from(["right half", "left half", "whole"]),
    beside_mm=st.integers(-2, 2),
)
def test_what_lies_on_the_fold_of_an_opening_lies_on_it_in_every_size(
    size: int, twice_fold_mm: int, half_mm: int, depths_mm: tuple[int, int], which: str, beside_mm: int
) -> None:
    fold_mm, (on_fold, shoulder) = twice_fold_mm / 2, depths_mm
    middle, left, right = f"{fold_mm:g},{on_fold}", f"{fold_mm - half_mm:g}", f"{fold_mm + half_mm:g}"
    along = {
        "right half": f"{middle} {right},{shoulder}",
        "left half": f"{left},{shoulder} {middle}",
        "whole": f"{left},{shoulder + beside_mm} {right},{shoulder}",
    }[which]
    design = sized(on_the_fold(fold_mm, half_mm, depths_mm, along), size)

    front = design.panel("front")
    outline = outline_points(front)  # which is refused when it does not begin and end on the fold
    line = line_along(outline, design.sections[0].placements[0].along)
    now_mm = front.block_width_mm / 2
    drawn = line_of(front.outline)
    assert drawn[0][0] == now_mm
    if which == "whole":
        assert min(x for x, _ in line) + max(x for x, _ in line) == pytest.approx(2 * now_mm, abs=2 * NEAR_OUTLINE_MM)
        assert any(x == now_mm for x, _ in line)
    else:
        ends = (line[0], line[-1]) if which == "right half" else (line[-1], line[0])
        assert (ends[0][0], abs(ends[1][0] - now_mm)) == (now_mm, drawn[1][0] - now_mm)


@given(across=FACTORS, down=FACTORS, head=FACTORS)
def test_a_larger_growth_never_makes_a_panel_smaller_and_its_text_is_sound(
    across: float, down: float, head: float
) -> None:
    one, more = grown(GOWN, Growth(across, down, head)), grown(GOWN, Growth(across * 1.1, down * 1.1, head))
    for panel, larger in zip(drawn_up(one).panels, drawn_up(more).panels, strict=True):
        assert panel.block_width_mm <= larger.block_width_mm
        assert panel.block_height_mm <= larger.block_height_mm
        assert extent(outline_points(panel)).width <= extent(outline_points(larger)).width
    assert read_design(write_design(one)) == one


@given(
    size=st.sampled_from(HEIGHTS_CM),
    counts=st.builds(ClothCounts, st.floats(10, 40), st.floats(10, 40)),
)
def test_every_band_of_every_size_ends_on_a_whole_bundle_or_says_what_is_odd(size: int, counts: ClothCounts) -> None:
    for section in plan_garment(sized(GOWN, size), {"gown": counts}).sections:
        after = section.after
        if section.design.is_band and after.standing_threads is not None and after.bundles is not None:
            in_bundles = sum(after.bundle_sizes) or after.bundles * (after.bundle_threads or 0)
            assert in_bundles + after.left_over_threads == after.standing_threads
            odd = {finding.code for finding in section.findings}
            assert not after.left_over_threads or section.left_over == "into_seam" or "left_over" in odd


def test_a_band_of_a_larger_size_is_never_shorter() -> None:
    lengths: list[dict[str, float]] = []
    for size in HEIGHTS_CM:
        plan = plan_garment(sized(GOWN, size), own_cloths(GOWN))
        lengths.append({one.key: one.after.length_mm or 0 for one in plan.sections})
    for smaller, larger in pairwise(lengths):
        assert [key for key in smaller if smaller[key] > larger[key]] == []


@given(
    low=st.integers(0, 50),
    length=st.integers(60, 900),
    folds=st.tuples(st.integers(0, 30), st.integers(0, 30)),
    factor=FACTORS,
    places=st.lists(st.floats(0, 1000), min_size=2, max_size=2).map(sorted),
)
def test_places_keep_their_order_and_what_is_folded_in_keeps_its_depth(
    low: int, length: int, folds: tuple[int, int], factor: float, places: list[float]
) -> None:
    axis = Axis(low, low + length, factor, *folds)
    first, second = (axis.at(place) for place in places)
    assert first <= second + 0.5  # a place inside is rounded, one in a fold is not
    assert axis.at(low + folds[0]) - axis.at(low) == folds[0]
    assert axis.at(low + length) - axis.at(low + length - folds[1]) == folds[1]
    assert axis.at(low + length) == low + length + axis.more_mm


def test_a_path_keeps_its_commands_where_its_lines_still_run_straight() -> None:
    path = "M 0,0 H 30 V 40 C 30,50 10,50 0,40 Q 5,20 0,0 Z"

    def slanting(
        point: tuple[float, float], ends: tuple[tuple[float, float], tuple[float, float]]
    ) -> tuple[float, float]:
        del ends
        return point[0], point[1] + point[0]

    assert moved_line(path, lambda point, _: point) == path
    assert moved_line(path, slanting) == "M 0,0 L 30,30 V 70 C 30,80 10,60 0,40 Q 5,25 0,0 Z"
    assert moved_line("0,0 30,0 30,40", slanting) == "0,0 30,30 30,70"


def test_what_mirrors_goes_on_mirroring() -> None:
    assert sized(GOWN, 56).panel("back_left").mirror_of == "back_right"
