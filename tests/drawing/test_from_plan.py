"""Panels taken from a plan: nothing lost, and a section over several panels worked through one after another."""

from dataclasses import replace

import pytest

from service.drawing.from_plan import Progress, shown_panels
from service.drawing.telling import each_once
from tests.drawing.garments import DESIGNS, planned

(GOWN,) = [planned(path) for path in DESIGNS if path.stem == "christening_gown"]
HEM = GOWN.section("hem")


def hem_parts(done: float) -> list[tuple[int, float, bool]]:
    """The hem's bundles, done fraction and need on each panel it runs over."""
    panels = shown_panels(GOWN, Progress({"hem": done}, needs_hand=("hem",)))
    parts = [section for panel in panels for section in panel.sections if section.key == "hem"]
    return [(part.bundles, round(part.done_fraction, 3), part.needs_hand) for part in parts]


def test_every_section_stands_on_every_panel_it_lies_on() -> None:
    shown = [(panel.key, section.key) for panel in shown_panels(GOWN) for section in panel.sections]
    placed = [(place.panel, section.key) for section in GOWN.sections for place in section.places]
    assert sorted(shown) == sorted(placed)


def test_a_hem_round_two_gores_shares_its_bundles() -> None:
    assert HEM.after.bundles == 902
    assert [bundles for bundles, _, _ in hem_parts(0)] == [451, 451]


@pytest.mark.parametrize(("done", "front", "back"), [(0, 0, 0), (0.25, 0.5, 0), (0.5, 1, 0), (0.75, 1, 0.5), (1, 1, 1)])
def test_a_hem_round_two_gores_is_worked_through_the_front_first(done: float, front: float, back: float) -> None:
    assert [fraction for _, fraction, _ in hem_parts(done)] == [front, back]


@pytest.mark.parametrize(("done", "hands"), [(0.0, [True, False]), (0.5, [False, True]), (1.0, [False, True])])
def test_a_hand_is_needed_only_where_the_work_has_got_to(done: float, hands: list[bool]) -> None:
    assert [needs for _, _, needs in hem_parts(done)] == hands


def test_a_section_over_two_panels_is_told_once_with_all_its_bundles() -> None:
    (hem,) = [part for part in each_once(shown_panels(GOWN, Progress({"hem": 0.75}))) if part.key == "hem"]
    assert (hem.bundles, hem.bundles_done) == (902, 676)


@pytest.mark.parametrize(
    ("side", "direction", "begins"),
    [
        ("right", "left to right", "start"),
        ("right", "right to left", "end"),
        ("wrong", "left to right", "end"),
        ("wrong", "right to left", "start"),
    ],
)
def test_work_on_the_wrong_side_runs_the_other_way_seen_from_the_right(side: str, direction: str, begins: str) -> None:
    design = replace(HEM.design, side_worked=side, work_direction=direction)  # type: ignore[arg-type]
    plan = replace(GOWN, sections=(replace(HEM, design=design),))
    assert {section.worked_from for panel in shown_panels(plan) for section in panel.sections} == {begins}
