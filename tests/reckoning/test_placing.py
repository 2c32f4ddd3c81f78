"""Strips, lines and points on a panel's outline; spaces between strips; mirrors."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import box

from service.reckoning.designs import ClothCounts, ClothDesign, Design, PanelDesign, Placement, SectionDesign
from service.reckoning.mirrors import drawn_up
from service.reckoning.outlines import cloth_inside, extent, mirrored
from service.reckoning.path_text import line_of
from service.reckoning.placing import Strip, crossings, lay, line_on, points_on
from service.reckoning.shapes import Point, Rect
from service.reckoning.spaces import Covered, carried_distances, spaces_between

SQUARE = line_of("0,0 100,0 100,100 0,100")
FLARED = line_of("40,0 60,0 100,100 0,100")  # a gore: 20 mm at the top, 100 mm at the hem
ROUND_HEM = line_of("M 0,0 H 300 V 180 C 250,220 50,220 0,180 Z")
NOTCHED = line_of("0,0 100,0 100,100 60,100 60,40 40,40 40,100 0,100")


def stepped(deep_mm: float) -> tuple[Point, ...]:
    """A square whose lower edge lies so much higher on its left half."""
    return line_of(f"0,0 100,0 100,100 50,100 50,{100 - deep_mm} 0,{100 - deep_mm}")


def codes(outline: tuple[Point, ...], strip: Strip) -> list[str]:
    return [finding.code for finding in lay(outline, strip).findings]


@pytest.mark.parametrize(
    ("strip", "piece"),
    [
        (Strip("across", "top", (10, 16)), Rect(0, 10, 100, 16)),
        (Strip("across", "bottom", (10, 16)), Rect(0, 84, 100, 90)),
        (Strip("down", "left", (10, 16)), Rect(10, 0, 16, 100)),
        (Strip("down", "right", (10, 16)), Rect(84, 0, 90, 100)),
        (Strip("across", "top", (10, 16), from_mm=20, to_mm=70), Rect(20, 10, 70, 16)),
        (Strip("down", "left", (10, 16), to_mm=70), Rect(10, 0, 16, 70)),
        (Strip("across", "top", (10, 16), length_mm=40), Rect(30, 10, 70, 16)),
        (Strip("across", "top", (10, 16), from_mm=20, length_mm=40), Rect(20, 10, 60, 16)),
        (Strip("across", "top", (10, 16), to_mm=70, length_mm=40), Rect(30, 10, 70, 16)),
    ],
    ids=["top", "bottom", "left", "right", "limits", "one limit", "length", "length from", "length up to"],
)
def test_strip_lies_where_it_is_placed(strip: Strip, piece: Rect) -> None:
    laid = lay(SQUARE, strip)
    assert laid.pieces == (piece,)
    assert laid.findings == ()
    assert laid.room_mm == 100


def test_strip_on_a_gore_is_as_long_as_its_shortest_chord() -> None:
    """The gore widens by 0.8 mm a mm: at 84 mm below the top it is 87.2 mm wide, at 90 mm 92 mm."""
    laid = lay(FLARED, Strip("across", "bottom", (10, 16)))
    assert laid.length_mm("across") == pytest.approx(20 + 0.8 * 84)
    assert laid.findings == ()


@pytest.mark.parametrize(
    ("outline", "strip", "code"),
    [
        (SQUARE, Strip("across", "top", (98, 104)), "outside_outline"),
        (SQUARE, Strip("across", "top", (10, 16), from_mm=110), "outside_outline"),
        (FLARED, Strip("across", "top", (10, 16), from_mm=0), "leaves_outline"),
        (SQUARE, Strip("across", "top", (10, 16), to_mm=130), "leaves_outline"),
        (SQUARE, Strip("across", "top", (10, 16), length_mm=120), "leaves_outline"),
        (NOTCHED, Strip("across", "bottom", (10, 16)), "in_pieces"),
        (ROUND_HEM, Strip("across", "bottom", (30, 36), is_hem=True), "curved_edge"),
        (ROUND_HEM, Strip("across", "bottom", (2, 8)), "curved_edge"),
    ],
    ids=["past the edge", "past the side", "starts off", "ends off", "too long", "slit", "round hem", "on the curve"],
)
def test_strip_that_cannot_be_worked_there_waits_with_a_finding(
    outline: tuple[Point, ...], strip: Strip, code: str
) -> None:
    laid = lay(outline, strip)
    assert [(finding.code, finding.waits) for finding in laid.findings] == [(code, True)]


@pytest.mark.parametrize(
    ("outline", "strip"),
    [
        (ROUND_HEM, Strip("across", "bottom", (60, 66))),
        (ROUND_HEM, Strip("across", "top", (20, 26), is_hem=True)),
        (FLARED, Strip("across", "bottom", (10, 16), is_hem=True)),
        (NOTCHED, Strip("across", "top", (10, 16), is_hem=True)),
        (NOTCHED, Strip("down", "left", (10, 16))),
    ],
    ids=[
        "above a round hem",
        "the straight edge opposite",
        "slanting sides",
        "edge with a slit below",
        "beside a slit",
    ],
)
def test_strip_on_straight_cloth_is_no_finding(outline: tuple[Point, ...], strip: Strip) -> None:
    assert codes(outline, strip) == []


def test_pieces_of_a_strip_keep_clear_of_a_slit() -> None:
    laid = lay(NOTCHED, Strip("across", "bottom", (10, 16)))
    assert laid.pieces == (Rect(0, 84, 40, 90), Rect(60, 84, 100, 90))
    assert laid.length_mm("across") == 80


def test_line_and_points_off_the_outline_are_findings() -> None:
    on, off = Placement("front", along="10,10 10,50 50,50"), Placement("front", along="10,10 10,50 150,50")
    assert [finding.code for finding in line_on(SQUARE, on)[1]] == []
    assert [finding.code for finding in line_on(SQUARE, off)[1]] == ["leaves_outline"]
    assert [finding.code for finding in points_on(SQUARE, Placement("front", points="50,50"))[1]] == []
    assert [finding.code for finding in points_on(SQUARE, Placement("front", points="50,50 150,50"))[1]] == [
        "leaves_outline"
    ]


def test_strips_that_only_touch_do_not_cross() -> None:
    touching = {"one": (Rect(0, 0, 50, 10),), "other": (Rect(0, 10, 50, 20),), "across": (Rect(40, 15, 44, 90),)}
    assert crossings(touching) == (("other", "across"),)


@given(
    st.floats(0, 120),
    st.floats(0.1, 30),
    st.sampled_from(["top", "bottom"]),
    st.sampled_from([SQUARE, FLARED, ROUND_HEM, NOTCHED]),
)
def test_clipped_strip_stays_in_the_outline_and_within_its_extent(
    near_mm: float, deep_mm: float, edge: str, outline: tuple[Point, ...]
) -> None:
    laid = lay(outline, Strip("across", "top" if edge == "top" else "bottom", (near_mm, near_mm + deep_mm)))
    cloth = cloth_inside(outline).buffer(0.1)
    assert all(cloth.covers(box(one.left, one.top, one.right, one.bottom)) for one in laid.pieces)
    assert 0 <= laid.length_mm("across") <= extent(outline).width + 1e-6
    assert laid.length_mm("across") <= laid.room_mm + 1e-6


@given(st.floats(0, 90), st.floats(0.1, 20), st.floats(1, 90))
def test_strip_from_the_right_mirrors_the_strip_from_the_left(near_mm: float, deep_mm: float, to_mm: float) -> None:
    outline = line_of("10,0 90,10 100,100 0,90")
    other = mirrored(outline, 100)
    left = lay(outline, Strip("down", "left", (near_mm, near_mm + deep_mm), to_mm=to_mm))
    right = lay(other, Strip("down", "right", (near_mm, near_mm + deep_mm), to_mm=to_mm))
    assert [finding.code for finding in left.findings] == [finding.code for finding in right.findings]
    assert len(left.pieces) == len(right.pieces)
    for a, b in zip(left.pieces, right.pieces, strict=True):
        assert (a.left, a.right, a.top, a.bottom) == pytest.approx((100 - b.right, 100 - b.left, b.top, b.bottom))


def test_space_before_a_section_begins_at_the_nearest_one_that_lies_before_it() -> None:
    covered = [
        Covered("hem", "across", "bottom", 40, 43),
        Covered("left half", "across", "bottom", 50, 60, (0, 100)),
        Covered("right half", "across", "bottom", 55, 65, (100, 200)),
        Covered("over both", "across", "bottom", 80, 90),
        Covered("placket", "down", "left", 20, 22),
    ]
    found = [(space.first, space.second.section, space.width_mm) for space in spaces_between(covered)]
    assert found == [
        ("", "hem", 40),
        ("hem", "left half", 7),
        ("hem", "right half", 12),
        ("right half", "over both", 15),
        ("", "placket", 20),
    ]


def test_carried_section_moves_by_what_the_sections_before_it_grew() -> None:
    covered = [Covered("hem", "across", "bottom", 40, 43), Covered("band", "across", "bottom", 55, 64)]
    carried = carried_distances(spaces_between(covered), {"hem": 5, "band": 9}, {"across": 10})
    assert carried == {"hem": 40, "band": 57}


@given(st.lists(st.floats(0, 100), min_size=1, max_size=6), st.lists(st.floats(0.1, 20), min_size=6), st.floats(5, 60))
def test_every_carried_space_is_whole_threads_and_true_to_half_a_thread(
    gaps_mm: list[float], deep_mm: list[float], per_cm: float
) -> None:
    at, covered = 0.0, []
    for number, (gap, deep) in enumerate(zip(gaps_mm, deep_mm, strict=False)):
        covered.append(Covered(f"band{number}", "across", "top", at + gap, at + gap + deep))
        at += gap + deep
    spaces = spaces_between(covered)
    reach = {one.section: one.far_mm - one.near_mm for one in covered}
    carried = carried_distances(spaces, reach, {"across": per_cm})
    for space in spaces:
        before = carried[space.first] + reach[space.first] if space.first else 0
        threads = (carried[space.second.section] - before) * per_cm / 10
        assert math.isclose(threads, round(threads), abs_tol=1e-6)
        assert abs(threads - space.width_mm * per_cm / 10) <= 0.5 + 1e-6


def design(*sections: SectionDesign, others: tuple[PanelDesign, ...] = ()) -> Design:
    front = PanelDesign("front", "Front", "front", "gown", 200, 100, "10,0 150,0 150,100 10,100", sections=sections)
    gown = ClothDesign("gown", "Linen", ClothCounts(20, 19))
    return Design("gown", "Gown", (gown,), (front, *others))


CUFF = SectionDesign(
    "front.cuff",
    "Cuff",
    "hem_band",
    direction="down",
    withdraw_threads=4,
    placements=(Placement("front", "left", 12, from_mm=30),),
)


def test_mirrored_section_lies_on_the_other_side_and_takes_the_same_measures() -> None:
    mirror = SectionDesign("front.other", "Other cuff", "hem_band", mirror_of="front.cuff")
    whole = drawn_up(design(CUFF, mirror))
    other = whole.panels[0].sections[1]
    assert other.placements == (Placement("front", "right", 12, from_mm=30),)
    assert (other.withdraw_threads, other.name, other.mirror_of) == (4, "Other cuff", "front.cuff")


def test_limits_along_a_strip_across_are_mirrored_about_the_blocks_middle() -> None:
    band = replace(CUFF, direction="across", placements=(Placement("front", "top", 12, from_mm=20, to_mm=80),))
    mirror = SectionDesign("front.other", "Other", "hem_band", mirror_of="front.cuff")
    assert drawn_up(design(band, mirror)).panels[0].sections[1].placements == (
        Placement("front", "top", 12, from_mm=120, to_mm=180),
    )


def test_mirrored_panel_has_the_outline_and_sections_mirrored_under_its_own_key() -> None:
    other = PanelDesign("back", "Back", "back", mirror_of="front")
    whole = drawn_up(design(CUFF, others=(other,)))
    back = whole.panel("back")
    assert extent(line_of(back.outline)) == Rect(50, 0, 190, 100)
    assert [section.key for section in back.sections] == ["back.cuff"]
    assert back.sections[0].placements == (Placement("back", "right", 12, from_mm=30),)


def test_what_stands_at_points_stands_as_far_from_the_other_side_when_mirrored() -> None:
    sprig = SectionDesign("front.sprig", "Sprig", "motif", placements=(Placement("front", points="60,30 80,20"),))
    whole = drawn_up(design(CUFF, sprig, others=(PanelDesign("back", "Back", "back", mirror_of="front"),)))
    width_mm = whole.panel("front").block_width_mm
    (mirrored_sprig,) = (one for one in whole.every_section if one.key == "back.sprig")
    assert sorted(line_of(mirrored_sprig.placements[0].points)) == [(width_mm - 80, 20), (width_mm - 60, 30)]


def test_mirror_of_a_mirror_lies_as_the_first_and_all_take_one_choice() -> None:
    mirror = SectionDesign("front.other", "Other cuff", "hem_band", mirror_of="front.cuff")
    again = SectionDesign("front.again", "Again", "hem_band", mirror_of="front.other")
    whole = drawn_up(design(CUFF, mirror, again))
    assert whole.panels[0].sections[2].placements == CUFF.placements
    assert [section.mirror_of for section in whole.panels[0].sections] == ["", "front.cuff", "front.cuff"]


@pytest.mark.parametrize(
    "outline", ["0,0 300,0 300,90 200,100 0,100", "0,0 300,0 300,100 100,100 0,90"], ids=["right", "left"]
)
def test_a_band_that_the_outline_runs_along_at_either_end_is_told(outline: str) -> None:
    """The edge rises by 10 mm on 100: a band 2 to 8 mm inside it ends where that edge would cut its threads one by one."""
    assert codes(line_of(outline), Strip("across", "bottom", (2, 8))) == ["curved_edge"]


def test_a_hem_may_stray_from_its_thread_by_a_millimetre() -> None:
    hem = Strip("across", "bottom", (30, 36), is_hem=True)
    assert codes(stepped(1), hem) == []
    assert codes(stepped(1.5), hem) == ["curved_edge"]
