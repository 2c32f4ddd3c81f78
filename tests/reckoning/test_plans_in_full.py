"""Three of the demo's garments planned in full on another cloth, as kept in plans_in_full.txt, what is worked and how much of it.

They are our own results: kept so that no change moves a thread of a garment unseen. What is meant to change is read
through line by line and kept anew with `python -m tests.reckoning.test_plans_in_full`.
"""

from dataclasses import fields, is_dataclass
from itertools import groupby
from pathlib import Path

import pytest

from service.reckoning.carry import plan_garment
from service.reckoning.design_text import read_design
from service.reckoning.designs import ClothCounts
from service.reckoning.plans import GarmentPlan, SectionChoice

KEPT = Path(__file__).with_name("plans_in_full.txt")
DESIGNS = Path(__file__).parents[2] / "seed_data" / "designs"
LAWN = ClothCounts(30, 28)
# The slits of the shirt keep their threads and its ladders their bundles' width: what the others do not.
PLANNED: dict[str, dict[str, SectionChoice]] = {
    "boys_shirt": {
        "front_right.placket": SectionChoice(depth="keep_threads", bundle="keep_width"),
        "front_right.ladder": SectionChoice(bundle="keep_width", left_over="shorter"),
    },
    "christening_gown": {},
    "handkerchief": {"square.ladder": SectionChoice(left_over="longer")},
}


def plan(name: str) -> GarmentPlan:
    design = read_design((DESIGNS / f"{name}.toml").read_text(encoding="utf-8"))
    return plan_garment(design, {cloth.role: LAWN for cloth in design.cloths}, PLANNED[name])


def written(name: str) -> list[str]:
    """A plan in lines: the whole, its panels, its sections with their figures before and after, what lies between."""
    whole = plan(name)
    lines = [f"{name}: {_said((whole.knots_before, whole.knots_after, whole.seconds_before, whole.seconds_after))}"]
    for panel in whole.panels:
        size = (panel.block_width_mm, panel.block_height_mm, panel.cut_width_mm, panel.cut_height_mm)
        lines.append(f"panel {panel.key}: {panel.cloth} {_said(size)} {_said(panel.at_mm)} {len(panel.outline)}")
    for section in whole.sections:
        lines += [f"{section.key}: {section.kind} {section.direction} of {section.mirror_of or section.owner}"]
        lines += [f"  {_said(section.before)}", f"  {_said(section.after)} error={_said(section.error_mm)}"]
        lines += [f"  open to it: {_said(choice)}" for choice in section.left_over_choices]
        lines += [f"  {finding.code}: {finding.text}" for finding in section.findings]
        lines += [
            f"  on {spot.panel}: {_said(spot.place.strips)} {_said(spot.place.points)}" for spot in section.places
        ]
        lines.append("  " + ", ".join(f"{step.operation} {_said(step.quantity)} {step.unit}" for step in section.steps))
    return [*lines, *(f"space {_said(space)}" for space in whole.spaces)]


def _said(value: object) -> str:
    if isinstance(value, float):
        return f"{value:.3f}".rstrip("0").rstrip(".")
    if isinstance(value, tuple) and len(value) > 12:
        return f"({' '.join(f'{len(list(run))}x{_said(each)}' for each, run in groupby(value))})"
    if isinstance(value, tuple):
        return f"({' '.join(_said(each) for each in value)})"
    if is_dataclass(value):
        said = (f"{field.name}={_said(getattr(value, field.name))}" for field in fields(value))
        return " ".join(part for part in said if not part.endswith(("=None", "=()", "=", "=0")))
    return str(value)


@pytest.mark.parametrize("name", PLANNED)
def test_a_garments_plan_is_in_every_figure_what_it_was(name: str) -> None:
    kept = KEPT.read_text(encoding="utf-8").split("\n\n")
    assert written(name) == kept[list(PLANNED).index(name)].splitlines()


if __name__ == "__main__":
    KEPT.write_text("\n\n".join("\n".join(written(name)) for name in PLANNED) + "\n", encoding="utf-8")
