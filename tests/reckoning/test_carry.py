"""A design made on another cloth: figures before and after, choices, findings, mirrors, totals."""

from collections.abc import Mapping
from dataclasses import replace

import pytest

from service.reckoning.asked import Wrong
from service.reckoning.carry import plan_garment
from service.reckoning.designs import ClothCounts, ClothDesign, Design, Faults, PanelDesign, Placement, SectionDesign
from service.reckoning.plans import SectionChoice, SectionPlan
from service.reckoning.shapes import Rect

FIFTY = ClothCounts(50 / 2.54, 50 / 2.54)
SEVENTY_SIX = ClothCounts(76 / 2.54, 76 / 2.54)
LINEN = ClothCounts(20, 19)
LAWN = ClothCounts(30, 28)

LADDER = SectionDesign(
    "front.ladder",
    "Ladder",
    "ladder",
    placements=(Placement("front", "bottom", 60, from_mm=50, to_mm=250),),
    direction="across",
    withdraw_threads=18,
    stop_lines=2,
)
THROUGH = replace(LADDER, placements=(Placement("front", "bottom", 60),), stop_lines=0)


def design(*sections: SectionDesign, cloth: ClothCounts = LINEN, of_garment: tuple[SectionDesign, ...] = ()) -> Design:
    front = PanelDesign("front", "Front", "front", "gown", 300, 400, "10,0 290,0 290,400 10,400", sections=sections)
    back = PanelDesign("back", "Back", "back", "gown", 300, 400, "10,0 290,0 290,400 10,400")
    return Design("gown", "Gown", (ClothDesign("gown", "Linen", cloth),), (front, back), of_garment)


def planned(
    section: SectionDesign, after: ClothCounts, before: ClothCounts = LINEN, choice: SectionChoice | None = None
) -> SectionPlan:
    choices: Mapping[str, SectionChoice] = {} if choice is None else {section.key: choice}
    return plan_garment(design(section, cloth=before), {"gown": after}, choices).section(section.key)


def codes(section: SectionPlan) -> list[str]:
    return [finding.code for finding in section.findings]


def test_band_keeps_its_width_on_a_finer_cloth_and_takes_more_threads() -> None:
    """W1.10 and W1.11: 18 threads at 50 an inch are 9.144 mm, at 76 an inch 27 threads and 9.024 mm (Dillmont fig. 71)."""
    ladder = planned(LADDER, SEVENTY_SIX, FIFTY)
    assert (ladder.before.withdraw_threads, ladder.after.withdraw_threads) == (18, 27)
    assert ladder.before.width_mm == pytest.approx(9.144)
    assert ladder.after.width_mm == pytest.approx(27 / 76 * 25.4)
    assert ladder.error_mm == pytest.approx(27 / 76 * 25.4 - 9.144)


def test_band_that_keeps_its_threads_is_narrower_on_a_finer_cloth() -> None:
    ladder = planned(LADDER, SEVENTY_SIX, FIFTY, SectionChoice(depth="keep_threads"))
    assert ladder.after.withdraw_threads == 18
    assert ladder.after.width_mm == pytest.approx(6.016, abs=0.001)


def test_depth_and_length_are_counted_in_the_two_different_systems() -> None:
    across = planned(LADDER, ClothCounts(30, 15))
    assert (across.after.withdraw_threads, across.after.standing_threads) == (14, 600)
    upright = replace(
        LADDER, direction="down", placements=(Placement("front", "left", 60, from_mm=50, to_mm=250),), stop_lines=2
    )
    down = planned(upright, ClothCounts(30, 15))
    assert (down.after.withdraw_threads, down.after.standing_threads) == (27, 300)


def test_finer_cloth_means_more_knots_only_while_the_bundle_keeps_its_threads() -> None:
    stitch = planned(LADDER, ClothCounts(40, 38))
    look = planned(LADDER, ClothCounts(40, 38), choice=SectionChoice(bundle="keep_width"))
    assert (stitch.before.knots, stitch.after.knots, look.after.knots) == (200, 400, 200)
    assert (stitch.after.bundle_threads, look.after.bundle_threads) == (4, 8)


def test_serpentine_that_keeps_its_bundles_width_takes_an_even_bundle() -> None:
    serpentine = replace(LADDER, kind="serpentine")
    plan = planned(serpentine, ClothCounts(25, 24), choice=SectionChoice(bundle="keep_width", left_over="shorter"))
    assert plan.after.bundle_threads == 6  # 2 mm hold 5 threads; halves of 2.5 are rounded up
    assert not plan.waits


def test_left_over_threads_wait_for_a_way_and_are_told() -> None:
    plan = planned(LADDER, ClothCounts(20.1, 19))
    assert plan.after.standing_threads == 402
    assert plan.after.left_over_threads == 2
    assert codes(plan) == ["left_over"]
    assert plan.waits
    assert [choice.way for choice in plan.left_over_choices] == ["shorter", "longer", "spread", "into_seam"]


@pytest.mark.parametrize(
    ("way", "standing", "left", "knots"),
    [("shorter", 400, 0, 200), ("longer", 404, 0, 202), ("spread", 402, 0, 200), ("into_seam", 402, 2, 200)],
)
def test_way_chosen_for_left_over_threads_is_taken(way: str, standing: int, left: int, knots: int) -> None:
    for left_over in ("shorter", "longer", "spread", "into_seam"):
        if left_over == way:
            plan = planned(LADDER, ClothCounts(20.1, 19), choice=SectionChoice(left_over=left_over))
            assert (plan.after.standing_threads, plan.after.left_over_threads, plan.after.knots) == (
                standing,
                left,
                knots,
            )
            assert (plan.left_over, plan.waits, codes(plan)) == (way, False, [])
            assert sum(plan.after.bundle_sizes) == (402 if way == "spread" else 0)


def test_design_keeps_its_own_way_until_the_maker_chooses_another() -> None:
    own = replace(LADDER, left_over="shorter")
    assert planned(own, ClothCounts(20.1, 19)).left_over == "shorter"
    assert planned(own, ClothCounts(20.1, 19), choice=SectionChoice(left_over="spread")).left_over == "spread"
    assert planned(own, LINEN).left_over is None


def test_moved_stop_line_shares_the_difference_between_two_stop_lines() -> None:
    plan = planned(LADDER, ClothCounts(20.1, 19), choice=SectionChoice(left_over="shorter"))
    (strip,) = plan.places[0].place.strips
    length_mm = 400 * 10 / 20.1
    assert (strip.left, strip.right) == pytest.approx((150 - length_mm / 2, 150 + length_mm / 2))


def test_end_without_a_stop_line_stays_at_the_outline() -> None:
    open_end = replace(LADDER, placements=(Placement("front", "bottom", 60, from_mm=52),), stop_lines=1)
    plan = planned(open_end, ClothCounts(20.1, 19), choice=SectionChoice(left_over="shorter"))
    (strip,) = plan.places[0].place.strips
    assert strip.right == 290
    assert strip.width == pytest.approx(plan.after.length_mm or 0)


def test_band_from_edge_to_edge_can_be_neither_shorter_nor_longer() -> None:
    plan = planned(THROUGH, ClothCounts(20.1, 19))
    assert [choice.way for choice in plan.left_over_choices] == ["spread", "into_seam"]


def test_band_without_room_cannot_be_longer() -> None:
    full = replace(LADDER, placements=(Placement("front", "bottom", 60, from_mm=10, to_mm=290),))
    plan = planned(full, ClothCounts(20.1, 19))
    assert [choice.way for choice in plan.left_over_choices] == ["shorter", "spread", "into_seam"]


def test_pairs_on_an_odd_number_of_bundles_wait_until_accepted_or_settled() -> None:
    pairs = replace(LADDER, kind="ladder_paired", placements=(Placement("front", "bottom", 60, from_mm=50, to_mm=249),))
    alone = planned(pairs, ClothCounts(20, 20))
    assert (alone.after.bundles, codes(alone), alone.waits) == (99, ["left_over", "odd_bundles"], True)
    assert planned(pairs, ClothCounts(20, 20), choice=SectionChoice(left_over="shorter")).after.bundles == 98
    exact = replace(pairs, placements=(Placement("front", "bottom", 60, from_mm=50, to_mm=248),))
    assert planned(exact, ClothCounts(20, 20)).waits
    accepted = planned(exact, ClothCounts(20, 20), choice=SectionChoice(accepted=True))
    assert (codes(accepted), accepted.waits) == (["odd_bundles"], False)


def test_what_cannot_be_worked_waits_although_it_is_accepted() -> None:
    plan = planned(LADDER, ClothCounts(20.1, 19), choice=SectionChoice(accepted=True))
    assert plan.waits
    far = replace(LADDER, placements=(Placement("front", "bottom", 399, from_mm=50, to_mm=250),))
    gone = planned(far, LINEN, choice=SectionChoice(accepted=True))
    assert (codes(gone), gone.waits, gone.steps) == (["outside_outline"], True, ())


def test_band_narrower_than_half_a_thread_of_a_coarse_cloth_waits() -> None:
    plan = planned(replace(LADDER, withdraw_threads=1), ClothCounts(5, 5))
    assert (codes(plan), plan.waits, plan.after.withdraw_threads) == (["too_narrow"], True, 0)
    tuck = SectionDesign(
        "front.tuck", "Tuck", "tuck", placements=(Placement("front", "top", 60),), direction="across", depth_mm=0.5
    )
    assert codes(planned(tuck, ClothCounts(5, 5))) == ["too_narrow"]


def test_two_rows_of_pairs_in_a_narrow_band_are_told() -> None:
    """W1.12: 18 threads at 76 an inch leave 0.016 mm between two rows 3 mm from each edge (Dillmont fig. 71)."""
    rows = replace(LADDER, kind="ladder_paired", pair_rows=2, left_over="shorter")
    narrow = planned(rows, SEVENTY_SIX, FIFTY, SectionChoice(depth="keep_threads"))
    assert (codes(narrow), narrow.waits) == (["rows_close"], False)
    assert codes(planned(rows, SEVENTY_SIX, FIFTY)) == []


def test_band_that_stops_inside_the_cloth_needs_a_stop_line_at_every_such_end() -> None:
    plan = planned(replace(LADDER, stop_lines=1), LINEN)
    assert (codes(plan), plan.waits) == (["no_stop_line"], True)


def test_length_that_the_design_fixes_is_kept_and_laid_in_the_middle() -> None:
    fixed = replace(LADDER, placements=(Placement("front", "bottom", 60),), standing_threads=400)
    plan = planned(fixed, ClothCounts(40, 38))
    assert (plan.before.standing_threads, plan.after.standing_threads) == (400, 800)
    assert (plan.places[0].place.strips[0].left, plan.places[0].place.strips[0].right) == (50, 250)
    too_long = planned(replace(fixed, standing_threads=None, length_mm=281), LINEN)
    assert "leaves_outline" in codes(too_long)


def test_steps_of_a_planned_band_are_in_order_with_exact_quantities() -> None:
    plan = planned(replace(LADDER, clip_inside_threads=2), LINEN)
    assert [(step.operation, step.quantity) for step in plan.steps] == [
        ("mark", 41.9),
        ("edge_stitch", 1.9),
        ("clip", 36),
        ("withdraw", 18),
        ("ladder_knot", 200),
    ]
    assert plan.steps[2].note.endswith("2 threads behind the stop line.")


def test_open_ends_of_a_band_are_secured_where_the_cutting_line_crosses_them() -> None:
    secured = [step.quantity for step in planned(THROUGH, LINEN).steps if step.operation == "secure"]
    assert secured == [1.9]


def test_mirrored_sections_take_one_choice_given_under_any_of_their_keys() -> None:
    upright = replace(
        LADDER, direction="down", placements=(Placement("front", "left", 30, from_mm=50, to_mm=250),), stop_lines=2
    )
    mirror = SectionDesign("front.other", "Other ladder", "ladder", mirror_of="front.ladder")
    plan = plan_garment(
        design(upright, mirror),
        {"gown": LAWN},
        {"front.other": SectionChoice(depth="keep_threads", left_over="spread")},
    )
    one, other = plan.section("front.ladder"), plan.section("front.other")
    assert one.after == other.after
    assert one.choice == other.choice
    assert (one.mirror_of, other.mirror_of) == ("", "front.ladder")
    (left,), (right,) = one.places[0].place.strips, other.places[0].place.strips
    assert right == Rect(300 - left.right, left.top, 300 - left.left, left.bottom)
    with pytest.raises(Wrong, match="take one choice"):
        plan_garment(
            design(upright, mirror),
            {"gown": LAWN},
            {"front.ladder": SectionChoice(), "front.other": SectionChoice(depth="keep_threads")},
        )


ROUND = SectionDesign(
    "hem",
    "Hem round",
    "hem_band",
    "garment",
    placements=(Placement("front", "bottom", 50, seams_mm=20), Placement("back", "bottom", 50, seams_mm=20)),
    direction="across",
    withdraw_threads=6,
    closed_round=True,
)


def test_round_over_two_panels_adds_their_chords_less_the_seams() -> None:
    plan = plan_garment(design(of_garment=(ROUND,)), {"gown": LINEN}).section("hem")
    assert plan.panels == ("front", "back")
    assert (plan.after.standing_threads, plan.after.bundles, plan.after.length_mm) == (1040, 260, 520)
    assert [step.operation for step in plan.steps if step.operation == "secure"] == []


def test_round_with_threads_left_over_can_only_spread_them_or_lose_them_in_a_seam() -> None:
    plan = plan_garment(design(of_garment=(ROUND,)), {"gown": ClothCounts(20.05, 19)}).section("hem")
    assert (plan.after.standing_threads, plan.waits) == (1042, True)
    assert [choice.way for choice in plan.left_over_choices] == ["spread", "into_seam"]


def test_round_over_panels_of_different_cloths_waits() -> None:
    plan = plan_garment(design(of_garment=(ROUND,)), {"gown": LINEN, "back": LAWN}).section("hem")
    assert codes(plan)[-1] == "counts_differ"
    assert plan.waits


def test_bands_that_cross_wait_unless_their_corner_is_drawn_up_with_stop_lines() -> None:
    upright = replace(
        LADDER,
        key="front.upright",
        direction="down",
        placements=(Placement("front", "left", 60, from_mm=250, to_mm=350),),
    )
    crossing = plan_garment(design(LADDER, upright), {"gown": LINEN})
    assert [codes(section)[-1] for section in crossing.sections] == ["crosses", "crosses"]
    assert crossing.waits
    corner = plan_garment(design(LADDER, replace(upright, corner_with=("front.ladder",))), {"gown": LINEN})
    assert [codes(section) for section in corner.sections if "crosses" in codes(section)] == []


def test_space_between_two_bands_is_carried_and_too_little_of_it_is_told() -> None:
    hem = replace(LADDER, key="front.hem", kind="hem_band", withdraw_threads=6, left_over="shorter")
    hem = replace(hem, placements=(Placement("front", "bottom", 50, from_mm=50, to_mm=250),))
    close = replace(LADDER, placements=(Placement("front", "bottom", 54, from_mm=50, to_mm=250),), left_over="shorter")
    plan = plan_garment(design(hem, close), {"gown": LAWN})
    first, second = plan.spaces
    assert (first.first, first.second, first.before_mm, first.after_threads) == ("", "front.hem", 50, 140)
    assert (second.first, second.second) == ("front.hem", "front.ladder")
    assert second.before_mm == pytest.approx(54 - 50 - 60 / 19)
    assert second.after_threads == 2
    assert second.error_mm == pytest.approx(second.after_mm - second.before_mm)
    assert codes(plan.section("front.ladder")) == ["bands_close"]
    assert not plan.waits


def test_bands_a_millimetre_apart_are_not_too_close_and_half_of_it_are() -> None:
    def second(distance_mm: float, cloth: ClothCounts) -> list[str]:
        hem = replace(LADDER, key="front.hem", kind="hem_band", withdraw_threads=6)
        hem = replace(hem, placements=(Placement("front", "bottom", 50.7, from_mm=50, to_mm=250),))
        ladder = replace(LADDER, placements=(Placement("front", "bottom", distance_mm, from_mm=50, to_mm=250),))
        return codes(plan_garment(design(hem, ladder, cloth=cloth), {"gown": cloth}).section("front.ladder"))

    assert second(54.7, ClothCounts(20, 20)) == []  # 50.7, 6 threads of 0.5 mm, and 1 mm
    assert second(54.2, ClothCounts(20, 20)) == ["bands_close"]
    assert second(53.7, ClothCounts(20, 30)) == []


def test_a_band_further_along_does_not_follow_one_that_ends_before_it_begins() -> None:
    first = replace(LADDER, key="front.first", placements=(Placement("front", "bottom", 50, from_mm=50, to_mm=150),))
    second = replace(LADDER, placements=(Placement("front", "bottom", 70, from_mm=160, to_mm=250),))
    spaces = plan_garment(design(first, second), {"gown": LINEN}).spaces
    assert [(space.first, space.second, space.before_mm) for space in spaces] == [
        ("", "front.first", 50),
        ("", "front.ladder", 70),
    ]


def test_lines_and_points_are_measured_on_their_panels() -> None:
    seam = SectionDesign(
        "side",
        "Side seam",
        "seam",
        "garment",
        (Placement("front", along="290,0 290,400"), Placement("back", along="290,0 290,400")),
    )
    neck = SectionDesign(
        "neck",
        "Neck",
        "binding",
        "garment",
        (Placement("front", along="10,0 290,0"), Placement("back", along="10,0 290,0", seams_mm=12)),
        joins=1,
    )
    buttons = SectionDesign("buttons", "Buttons", "closure", "garment", (Placement("back", points="20,20 20,60"),))
    plan = plan_garment(design(of_garment=(seam, neck, buttons)), {"gown": LINEN})
    assert [section.after.length_mm for section in plan.sections] == [400, 548, None]
    assert [(step.operation, step.quantity) for step in plan.section("neck").steps] == [
        ("cut_bias", 54.8),
        ("bias_join", 1),
        ("stitch_bias", 54.8),
        ("whip_bias", 54.8),
    ]
    assert [(step.operation, step.quantity) for step in plan.section("buttons").steps] == [("closure", 2)]
    assert plan.section("buttons").places[0].place.points == ((20, 20), (20, 60))


def test_totals_add_up_over_sections_and_panels() -> None:
    plan = plan_garment(design(replace(LADDER, left_over="shorter"), of_garment=(ROUND,)), {"gown": LAWN})
    assert plan.knots_after == sum(section.after.knots for section in plan.sections)
    sections = sum(section.after.seconds for section in plan.sections)
    panels = 2 * (420 * 4 + 900 * 2)  # cut_block, wash, press, cut_out; trace, retrace: guesses from memory
    assert plan.seconds_after == pytest.approx(sections + panels)
    assert plan.seconds_before < plan.seconds_after


@pytest.mark.parametrize(
    ("cloths", "choices", "field"),
    [
        ({"back": LINEN}, {}, "cloths.gown"),
        ({"gown": LINEN}, {"front.sleeve": SectionChoice()}, "choices.front.sleeve"),
    ],
    ids=["no cloth for a panel", "no such section"],
)
def test_plan_asked_for_what_is_not_there_is_refused(
    cloths: Mapping[str, ClothCounts], choices: Mapping[str, SectionChoice], field: str
) -> None:
    with pytest.raises(Wrong) as refused:
        plan_garment(design(LADDER), cloths, choices)
    assert refused.value.field == field


@pytest.mark.parametrize("field", ["depth", "bundle", "left_over"])
def test_choice_of_an_unknown_word_is_refused(field: str) -> None:
    with pytest.raises(Wrong) as refused:
        SectionChoice(**{field: "as you like"})  # type: ignore[arg-type]
    assert refused.value.field == field


def test_binding_needs_a_cloth_of_its_own() -> None:
    neck = SectionDesign("neck", "Neck", "binding", "garment", (Placement("front", along="10,0 290,0"),), cloth="trim")
    whole = design(of_garment=(neck,))
    trimmed = replace(whole, cloths=(*whole.cloths, ClothDesign("trim", "Batiste", LAWN)))
    with pytest.raises(Wrong, match=r"cloths\.trim: choose a cloth for Neck"):
        plan_garment(trimmed, {"gown": LINEN})
    assert plan_garment(trimmed, {"gown": LINEN, "trim": LAWN}).section("neck").counts == LAWN


def test_unsound_design_is_not_planned() -> None:
    with pytest.raises(Faults):
        plan_garment(design(replace(LADDER, direction=None)), {"gown": LINEN})
