"""Sizes drawn to one scale: all views alike, each garment standing on its view's lower edge."""

from service.drawing.from_plan import shown_panels
from service.drawing.size_drawing import size_drawings
from service.reckoning.carry import own_cloths, plan_garment
from service.reckoning.design_text import read_design
from service.reckoning.sizes import sized
from tests.building import DESIGNS
from tests.drawing.markup import inked, read, view

MOST_BYTES = 13_000


def test_sizes_are_drawn_in_views_alike_from_the_front_and_light() -> None:
    design = read_design((DESIGNS / "christening_gown.toml").read_text(encoding="utf-8"))
    plans = [plan_garment(sized(design, size), own_cloths(design)) for size in (56, 86)]
    small, large = size_drawings([shown_panels(plan) for plan in plans], ["Gown, 56", "Gown, 86"])
    assert max(len(small.encode()), len(large.encode())) <= MOST_BYTES
    views = [view(read(svg)) for svg in (small, large)]
    assert (views[0].width, views[0].height) == (views[1].width, views[1].height)
    assert [len(inked(read(svg), "d-piece")) for svg in (small, large)] == [4, 4]  # bodice, skirt, both sleeves
    titles = [read(svg)[0].text for svg in (small, large)]
    assert titles == ["Gown, 56", "Gown, 86"]
    assert "one scale" in (read(small)[1].text or "")


def test_a_garment_without_a_front_is_drawn_from_the_back() -> None:
    design = read_design((DESIGNS / "bonnet.toml").read_text(encoding="utf-8"))
    crown = [panel for panel in shown_panels(plan_garment(design, own_cloths(design))) if panel.side == "back"]
    (svg,) = size_drawings([crown], ["Crown"])
    assert len(inked(read(svg), "d-piece")) == 1
