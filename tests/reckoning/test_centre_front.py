"""Where the centre front lies along a bound edge, on the outlines that the edge follows."""

from dataclasses import replace

import pytest

from service.reckoning.centre_front import centre_front_mm
from service.reckoning.designs import PanelDesign, Placement, SectionDesign

FRONT = PanelDesign("front", "Front", "front", "gown", 300, 400, "50,50 250,50 250,350 50,350")
BACK = replace(FRONT, key="back", name="Back", side="back")
HALF = replace(FRONT, key="half", name="Half", outline="150,50 250,50 250,350 150,350")
PANELS = {panel.key: panel for panel in (FRONT, BACK, HALF)}
TOP = "50,50 250,50"


def places(*edges: tuple[str, str]) -> tuple[float, ...]:
    placements = tuple(Placement(panel, along=along) for panel, along in edges)
    return centre_front_mm(SectionDesign("neck", "Neck", "binding", owner="garment", placements=placements), PANELS)


@pytest.mark.parametrize(
    ("edges", "found"),
    [
        ([("front", TOP)], (100,)),
        ([("back", TOP), ("front", TOP)], (300,)),
        ([("front", TOP), ("back", TOP), ("front", TOP)], (100, 500)),
        ([("front", "50,50 50,50")], (100, 600)),  # all round: once at the neck and once at the hem
        ([("front", "100,90 200,90 100,190 120,190")], (50, 100 + 50 * 2**0.5)),
        ([("front", "50,90 150,90 250,90")], (100,)),  # a corner of the line on the centre front: crossed once
        ([("front", "250,90 150,90 50,90")], (100,)),
        ([("front", "200,50 50,350")], (450,)),
        ([("front", "250,50 250,350")], ()),
        ([("back", TOP)], ()),
        ([("half", "150,50 250,50")], ()),
    ],
)
def test_the_centre_front_is_found_wherever_the_edge_crosses_it(
    edges: list[tuple[str, str]], found: tuple[float, ...]
) -> None:
    assert places(*edges) == pytest.approx(found)


def test_a_front_a_hair_wider_on_one_side_is_still_one_front() -> None:
    wide, wider = (replace(FRONT, outline=f"50,50 {right},50 {right},350 50,350") for right in (251, 251.5))
    neck = SectionDesign(
        "neck", "Neck", "binding", owner="garment", placements=(Placement("front", along="60,50 240,50"),)
    )
    assert centre_front_mm(neck, {"front": wide}) == (90,)
    assert centre_front_mm(neck, {"front": wider}) == ()
    assert centre_front_mm(neck, {}) == ()
