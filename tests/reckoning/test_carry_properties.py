"""What holds of any design carried to any cloth: nothing below zero, no thread lost, there and back the same."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from service.reckoning.carry import own_cloths, plan_garment
from service.reckoning.designs import ClothCounts, ClothDesign, Design, PanelDesign, Placement, SectionDesign
from service.reckoning.plans import GarmentPlan, SectionChoice


@st.composite
def made(draw: st.DrawFn) -> tuple[Design, dict[str, ClothCounts], dict[str, SectionChoice]]:
    """A gore with a few bands and tucks at any distance, a cloth and any choices."""
    counts = st.builds(ClothCounts, st.floats(8, 45), st.floats(8, 45))
    half = draw(st.integers(40, 140))
    outline = f"M 150,0 H {150 + half} L 290,400 H 150 Z"
    sections, choices = [], {}
    for number in range(draw(st.integers(1, 4))):
        across = draw(st.booleans())
        stops = draw(st.integers(0, 2))
        limits = sorted(draw(st.tuples(st.floats(0, 400), st.floats(0, 400))))
        from_mm, to_mm = (limits[0] if stops > 0 else None), (limits[1] if stops > 1 else None)
        if from_mm is not None and to_mm is not None and to_mm - from_mm < 1:
            to_mm = from_mm + 1
        placement = Placement(
            "front",
            draw(st.sampled_from(["top", "bottom"] if across else ["left", "right"])),
            draw(st.floats(0, 200)),
            from_mm,
            to_mm,
        )
        sections.append(
            SectionDesign(
                f"front.band{number}",
                f"Band {number}",
                draw(st.sampled_from(["hem_band", "ladder", "ladder_paired", "serpentine", "alternating"])),
                placements=(placement,),
                direction="across" if across else "down",
                withdraw_threads=draw(st.integers(1, 40)),
                bundle_threads=draw(st.integers(2, 6)),
                stop_lines=stops,
            )
        )
        choices[f"front.band{number}"] = SectionChoice(
            draw(st.sampled_from(["keep_width", "keep_threads"])),
            draw(st.sampled_from(["keep_threads", "keep_width"])),
            draw(st.sampled_from(["shorter", "longer", "spread", "into_seam", None])),
            draw(st.booleans()),
        )
    front = PanelDesign("front", "Front", "front", "gown", 300, 400, outline, on_fold=True, sections=tuple(sections))
    gown = ClothDesign("gown", "Cloth", draw(counts))
    return Design("gown", "Gown", (gown,), (front,)), {"gown": draw(counts)}, choices


def never_below_zero(plan: GarmentPlan) -> bool:
    figures = [
        value
        for section in plan.sections
        for side in (section.before, section.after)
        for value in (
            side.withdraw_threads,
            side.width_mm,
            side.standing_threads,
            side.length_mm,
            side.bundles,
            side.left_over_threads,
            side.knots,
            side.seconds,
            *side.bundle_sizes,
        )
        if value is not None
    ]
    steps = [step.quantity for section in plan.sections for step in section.steps]
    spaces = [value for space in plan.spaces for value in (space.before_mm, space.after_mm, space.after_threads)]
    return min([*figures, *steps, *spaces, 0]) == 0


@given(made())
def test_any_design_plans_without_a_figure_below_zero_and_keeps_every_thread(
    asked: tuple[Design, dict[str, ClothCounts], dict[str, SectionChoice]],
) -> None:
    plan = plan_garment(*asked)
    assert never_below_zero(plan)
    for section in plan.sections:
        after = section.after
        if after.standing_threads is not None and after.bundles is not None and after.bundle_threads is not None:
            bundled = sum(after.bundle_sizes) or after.bundles * after.bundle_threads
            assert bundled + after.left_over_threads == after.standing_threads
        if section.left_over_choices and section.left_over is None:
            assert section.waits or section.choice.accepted
        assert section.waits or not any(finding.waits and not section.choice.accepted for finding in section.findings)


@given(made())
def test_width_that_is_kept_is_true_to_half_a_thread(
    asked: tuple[Design, dict[str, ClothCounts], dict[str, SectionChoice]],
) -> None:
    design_, cloths, choices = asked
    kept = {key: replace(choice, depth="keep_width") for key, choice in choices.items()}
    for section in plan_garment(design_, cloths, kept).sections:
        if section.after.width_mm is not None and section.before.width_mm is not None and section.direction:
            thread_mm = 10 / section.counts.withdrawn_per_cm(section.direction)
            assert abs(section.error_mm) <= thread_mm / 2 + 1e-6
            assert section.error_mm == section.after.width_mm - section.before.width_mm


@given(made())
def test_design_planned_on_its_own_cloths_comes_out_as_drawn(
    asked: tuple[Design, dict[str, ClothCounts], dict[str, SectionChoice]],
) -> None:
    plan = plan_garment(asked[0], own_cloths(asked[0]))
    assert [section.before for section in plan.sections] == [section.after for section in plan.sections]
    assert (plan.knots_before, plan.seconds_before) == (plan.knots_after, plan.seconds_after)
    assert {section.error_mm for section in plan.sections} <= {0.0}
    assert all(space.before_threads == space.after_threads for space in plan.spaces)


@given(made())
def test_threads_carried_to_a_finer_cloth_and_back_are_those_drawn(
    asked: tuple[Design, dict[str, ClothCounts], dict[str, SectionChoice]],
) -> None:
    drawn, _, _ = asked
    counts = drawn.cloths[0].counts
    finer = ClothCounts(counts.warp_per_cm * 1.3, counts.weft_per_cm * 1.7)
    there = plan_garment(drawn, {"gown": finer})
    carried = tuple(
        replace(section, withdraw_threads=there.section(section.key).after.withdraw_threads)
        for section in drawn.panels[0].sections
        if there.section(section.key).after.withdraw_threads is not None
    )
    on_finer = replace(
        drawn,
        cloths=(ClothDesign("gown", "Finer", finer),),
        panels=(replace(drawn.panels[0], sections=carried),),
    )
    back = plan_garment(on_finer, {"gown": counts})
    for section in back.sections:
        if section.after.withdraw_threads is not None:
            first = next(one for one in drawn.panels[0].sections if one.key == section.key)
            assert section.after.withdraw_threads == first.withdraw_threads
