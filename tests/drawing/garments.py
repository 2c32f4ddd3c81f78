"""Garments and panels to draw: the demo designs, and a plain square with a band."""

from pathlib import Path

from service.drawing.from_plan import Progress, shown_panels
from service.drawing.shown import ShownPanel, ShownSection
from service.reckoning.carry import own_cloths, plan_garment
from service.reckoning.design_text import read_design
from service.reckoning.plans import GarmentPlan
from service.reckoning.shapes import Place, Rect

DESIGNS = sorted((Path(__file__).parents[2] / "seed_data/designs").glob("*.toml"))


def planned(path: Path) -> GarmentPlan:
    """A demo design on its own cloths."""
    design = read_design(path.read_text("utf-8"))
    return plan_garment(design, own_cloths(design), {})


def half_done(plan: GarmentPlan) -> tuple[ShownPanel, ...]:
    """Its panels with every section half done and linked."""
    keys = [section.key for section in plan.sections]
    return shown_panels(plan, Progress(dict.fromkeys(keys, 0.5), {key: f"/sections/{key}" for key in keys}, keys[:1]))


def section(done: float = 0.0, *, kind: str = "ladder", bundles: int = 20, key: str = "front.band") -> ShownSection:
    """A band across the square panel below."""
    place = Place((Rect(50, 200, 250, 208),))
    return ShownSection(key, "Ladder", kind, place, "across", bundles, done)  # type: ignore[arg-type]


def square(*sections: ShownSection, name: str = "Front") -> ShownPanel:
    """A panel of 300 × 300 mm on a block 340 wide."""
    outline = ((20.0, 20.0), (320.0, 20.0), (320.0, 320.0), (20.0, 320.0))
    return ShownPanel("front", name, "front", outline, 340, 340, sections=sections)
