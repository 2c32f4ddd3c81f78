"""The eight designs of the demo studio: each lays out and plans with no unexplained finding, on two cloths in three sizes."""

from dataclasses import replace
from functools import cache
from itertools import chain, pairwise
from pathlib import Path

import pytest
from shapely import box

from service.reckoning.band_kinds import BAND_KINDS
from service.reckoning.blocks import Block
from service.reckoning.carry import own_cloths, plan_garment
from service.reckoning.design_text import design_on_record, read_design
from service.reckoning.designs import STRIP_KINDS, ClothCounts, Design
from service.reckoning.gates import Owner, StepState, refusal
from service.reckoning.layout import ClothAsk, plan_cloth
from service.reckoning.mirrors import drawn_up, sections_drawn_up
from service.reckoning.outlines import cloth_inside, length_of, line_along, outline_points
from service.reckoning.plans import GarmentPlan
from service.reckoning.sizes import size_range, sized
from service.reckoning.steps import StepPlan

FOLDER = Path(__file__).parents[2] / "seed_data" / "designs"
NAMES = (
    "bib",
    "blouse",
    "bonnet",
    "boys_shirt",
    "christening_gown",
    "day_gown",
    "handkerchief",
    "yoke_dress",
)
CLOTHS = {
    "linen 38 by 38 per inch": ClothCounts(38 / 2.54, 38 / 2.54),
    "lawn 30 by 28 per cm": ClothCounts(30, 28),
}
CLOTH_WIDTH_MM = 1400
SIZES = ("smallest", "own", "largest")


@cache
def read(name: str) -> Design:
    return read_design((FOLDER / f"{name}.toml").read_text(encoding="utf-8"))


@cache
def in_size(name: str, size: str) -> Design:
    sizes = size_range(read(name).size)
    assert sizes is not None
    return sized(read(name), {"smallest": sizes.sizes_cm[0], "own": sizes.own_cm, "largest": sizes.sizes_cm[-1]}[size])


@cache
def on(name: str, size: str, counts: ClothCounts) -> GarmentPlan:
    design = in_size(name, size)
    return plan_garment(design, {cloth.role: counts for cloth in design.cloths})


def test_every_design_in_the_folder_is_tried_here() -> None:
    assert tuple(sorted(path.stem for path in FOLDER.glob("*.toml"))) == NAMES


@pytest.mark.parametrize("name", NAMES)
def test_the_sections_alone_are_those_of_the_whole_design(name: str) -> None:
    text = (FOLDER / f"{name}.toml").read_text(encoding="utf-8")
    assert design_on_record(text) == read(name)
    assert list(sections_drawn_up(read(name)).values()) == list(drawn_up(read(name)).every_section)


@pytest.mark.parametrize("counts", CLOTHS.values(), ids=CLOTHS)
@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", NAMES)
def test_demo_design_plans_with_no_unexplained_finding(name: str, size: str, counts: ClothCounts) -> None:
    plan = on(name, size, counts)
    assert not plan.waits
    unexplained = [
        (section.key, finding.code)
        for section in plan.sections
        for finding in section.findings
        if finding.waits or finding.code not in dict(section.design.explained)
    ]
    assert unexplained == []
    for section in plan.sections:
        if section.after.bundles is not None:
            in_bundles = sum(section.after.bundle_sizes) or section.after.bundles * (section.after.bundle_threads or 0)
            beside = section.after.left_over_threads if section.left_over == "into_seam" else 0
            assert in_bundles + beside == section.after.standing_threads


@pytest.mark.parametrize("name", NAMES)
def test_each_demo_design_takes_more_cloth_and_hours_the_larger_it_is_and_can_be_cut(name: str) -> None:
    plans = [on(name, size, CLOTHS["lawn 30 by 28 per cm"]) for size in SIZES]
    hours = [plan.seconds_after for plan in plans]
    assert hours == sorted(hours)
    for smaller, larger in pairwise(plans):
        for panel, same in zip(smaller.panels, larger.panels, strict=True):
            assert panel.cut_width_mm <= same.cut_width_mm
            assert panel.cut_height_mm <= same.cut_height_mm
    blocks = tuple(Block(panel.key, panel.cut_width_mm, panel.cut_height_mm) for panel in plans[-1].panels)
    bought = plan_cloth(ClothAsk(blocks, CLOTH_WIDTH_MM))
    assert len(bought.placements) == len(blocks)
    assert bought.buy_mm >= bought.length_mm >= max(block.height_mm for block in blocks)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", NAMES)
def test_edges_that_are_sewn_together_are_as_long_as_each_other_or_are_eased_in(name: str, size: str) -> None:
    design = drawn_up(in_size(name, size))
    for seam in (section for section in design.sections if section.kind == "seam"):
        lengths = [length_of(line_along(outline_points(design.panel(one.panel)), one.along)) for one in seam.placements]
        if seam.name.startswith(("Shoulder", "Side")):
            assert lengths[0] == pytest.approx(lengths[1], abs=1.5), seam.name
        elif seam.name.startswith("Setting in"):
            assert sum(lengths[1:]) < lengths[0] < 1.6 * sum(lengths[1:]), seam.name
        elif seam.name.startswith(("Waist", "Yoke seam", "Crown")):
            assert 1.05 < lengths[1] / lengths[0] < 1.7, seam.name


@pytest.mark.parametrize("name", NAMES)
def test_demo_design_is_sound_on_its_own_cloths_and_comes_out_as_drawn(name: str) -> None:
    design = read(name)
    plan = plan_garment(design, own_cloths(design))
    assert [finding for section in plan.sections for finding in section.findings if finding.waits] == []
    assert plan.knots_before == plan.knots_after > 0
    assert [section.before for section in plan.sections] == [section.after for section in plan.sections]


@pytest.mark.parametrize("counts", CLOTHS.values(), ids=CLOTHS)
@pytest.mark.parametrize("name", NAMES)
def test_strips_of_a_demo_design_lie_on_their_panels_within_the_outline(name: str, counts: ClothCounts) -> None:
    plan = on(name, "own", counts)
    for section in plan.sections:
        for place in section.places:
            cloth = cloth_inside(plan.panel(place.panel).outline).buffer(0.1)
            assert all(cloth.covers(box(one.left, one.top, one.right, one.bottom)) for one in place.place.strips)
        assert section.kind not in STRIP_KINDS or all(place.place.strips for place in section.places)


@pytest.mark.parametrize("name", NAMES)
def test_steps_of_a_demo_design_can_be_worked_in_their_order_through_every_gate(name: str) -> None:
    plan = on(name, "own", CLOTHS["linen 38 by 38 per inch"])
    states = _states(plan)
    for index, state in enumerate(states):
        assert refusal(states, index, state.quantity) is None, (state.section, state.operation)
        states[index] = replace(state, done=state.quantity)


def _states(plan: GarmentPlan) -> list[StepState]:
    """A garment's steps as the studio lays them down: panel by panel, then the joined garment's sections."""
    found: list[StepState] = []

    def add(steps: tuple[StepPlan, ...], owner: Owner, section: str | None, panel: str | None) -> None:
        for step in steps:
            found.append(StepState(step.operation, step.quantity, 0, len(found), owner, section, panel))

    for panel in plan.panels:
        add(panel.steps.before, "panel", None, panel.key)
        for section in plan.sections:
            if section.owner == "panel" and section.panels == (panel.key,):
                add(section.steps, "section", section.key, panel.key)
        add(panel.steps.after, "panel", None, panel.key)
    for section in plan.sections:
        if section.owner == "garment":
            add(section.steps, "garment", section.key, None)
    return found


def test_designs_together_use_every_band_kind_both_directions_and_all_stop_lines() -> None:
    sections = list(chain.from_iterable(read(name).every_section for name in NAMES))
    drawn = [section for section in sections if not section.mirror_of]
    assert {section.kind for section in drawn if section.is_band} == set(BAND_KINDS)
    assert {section.direction for section in drawn if section.is_band} == {"across", "down"}
    assert {section.stop_lines for section in drawn if section.is_band} == {0, 1, 2}
    assert {section.kind for section in drawn} >= {"tuck", "binding", "seam", "lace", "motif", "closure"}
    assert any(section.closed_round for section in drawn)
    assert any(section.mirror_of for section in sections)
    assert any(section.corner_with for section in drawn)


@pytest.mark.parametrize(
    ("name", "knots", "hours"),
    [("day_gown", 1196, 11.9), ("christening_gown", 6938, 71.8)],
)
def test_a_gown_takes_as_many_knots_and_hours_as_said(name: str, knots: int, hours: float) -> None:
    design = read(name)
    plan = plan_garment(design, own_cloths(design))
    assert plan.knots_after == knots
    assert plan.seconds_after / 3600 == pytest.approx(hours, abs=0.1)
