"""The eight designs of the demo studio: each lays out and plans with no unexplained finding, on several cloths."""

from dataclasses import replace
from functools import cache
from itertools import chain
from pathlib import Path

import pytest
from shapely import box

from service.reckoning.band_kinds import BAND_KINDS
from service.reckoning.carry import check_design, own_cloths, plan_garment
from service.reckoning.design_text import read_design
from service.reckoning.designs import STRIP_KINDS, ClothCounts, Design
from service.reckoning.gates import Owner, StepState, refusal
from service.reckoning.outlines import cloth_inside
from service.reckoning.plans import GarmentPlan
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
    "linen 20 by 19 per cm": ClothCounts(20, 19),
    "linen 38 by 38 per inch": ClothCounts(38 / 2.54, 38 / 2.54),
    "lawn 30 by 28 per cm": ClothCounts(30, 28),
}


@cache
def read(name: str) -> Design:
    return read_design((FOLDER / f"{name}.toml").read_text(encoding="utf-8"))


@cache
def on(name: str, counts: ClothCounts) -> GarmentPlan:
    return plan_garment(read(name), {cloth.role: counts for cloth in read(name).cloths})


def test_every_design_in_the_folder_is_tried_here() -> None:
    assert tuple(sorted(path.stem for path in FOLDER.glob("*.toml"))) == NAMES


@pytest.mark.parametrize("counts", CLOTHS.values(), ids=CLOTHS)
@pytest.mark.parametrize("name", NAMES)
def test_demo_design_plans_with_no_unexplained_finding(name: str, counts: ClothCounts) -> None:
    plan = on(name, counts)
    assert not plan.waits
    unexplained = [
        (section.key, finding.code)
        for section in plan.sections
        for finding in section.findings
        if finding.waits or finding.code not in dict(section.design.explained)
    ]
    assert unexplained == []


@pytest.mark.parametrize("name", NAMES)
def test_demo_design_is_sound_on_its_own_cloths_and_comes_out_as_drawn(name: str) -> None:
    design = read(name)
    assert [finding for finding in check_design(design) if finding.waits] == []
    plan = plan_garment(design, own_cloths(design))
    assert plan.knots_before == plan.knots_after > 0
    assert [section.before for section in plan.sections] == [section.after for section in plan.sections]


@pytest.mark.parametrize("counts", CLOTHS.values(), ids=CLOTHS)
@pytest.mark.parametrize("name", NAMES)
def test_strips_of_a_demo_design_lie_on_their_panels_within_the_outline(name: str, counts: ClothCounts) -> None:
    plan = on(name, counts)
    for section in plan.sections:
        for place in section.places:
            cloth = cloth_inside(plan.panel(place.panel).outline).buffer(0.1)
            assert all(cloth.covers(box(one.left, one.top, one.right, one.bottom)) for one in place.place.strips)
        assert section.kind not in STRIP_KINDS or all(place.place.strips for place in section.places)


@pytest.mark.parametrize("name", NAMES)
def test_steps_of_a_demo_design_can_be_worked_in_their_order_through_every_gate(name: str) -> None:
    plan = on(name, CLOTHS["linen 20 by 19 per cm"])
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
    [("day_gown", 1196, 11.6), ("christening_gown", 6794, 70.0)],
)
def test_a_gown_takes_as_many_knots_and_hours_as_said(name: str, knots: int, hours: float) -> None:
    design = read(name)
    plan = plan_garment(design, own_cloths(design))
    assert plan.knots_after == knots
    assert plan.seconds_after / 3600 == pytest.approx(hours, abs=0.1)
