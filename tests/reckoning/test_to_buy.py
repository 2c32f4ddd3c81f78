"""The cloth one planned garment takes: its blocks and the bias of its bindings."""

import pytest

from service.reckoning.asked import Wrong
from service.reckoning.carry import own_cloths, plan_garment
from service.reckoning.design_text import read_design
from service.reckoning.mirrors import stands_opposite
from service.reckoning.to_buy import cloth_to_buy
from tests.building import DESIGNS


def test_blocks_of_a_role_and_its_bias_are_laid_together_and_shrinkage_makes_them_longer() -> None:
    design = read_design((DESIGNS / "bib.toml").read_text(encoding="utf-8"))
    plan = plan_garment(design, own_cloths(design))
    bib, binding = (cloth_to_buy(plan, role, 1400) for role in ("bib", "binding"))
    assert bib is not None
    assert binding is not None
    assert [one.name for one in bib.placements] == ["Bib"]
    assert bib.length_mm == 350
    assert [one.name for one in binding.placements] == ["Bias"]
    shrunk = cloth_to_buy(plan, "bib", 1400, (5, 0))
    assert shrunk is not None
    assert shrunk.length_mm == pytest.approx(350 / 0.95, abs=0.01)
    assert cloth_to_buy(plan, "lining", 1400) is None
    with pytest.raises(Wrong, match="wide"):
        cloth_to_buy(plan, "bib", 200)


def test_bias_of_the_panels_own_cloth_lies_beside_its_blocks() -> None:
    design = read_design((DESIGNS / "bonnet.toml").read_text(encoding="utf-8"))
    laid = cloth_to_buy(plan_garment(design, own_cloths(design)), "bonnet", 1400)
    assert laid is not None
    assert sorted(one.name for one in laid.placements) == ["Bias", "Brim", "Crown"]


def test_the_mirror_of_a_panel_stands_across_from_it_or_beside_one_in_the_middle() -> None:
    gown = read_design((DESIGNS / "christening_gown.toml").read_text(encoding="utf-8"))
    assert stands_opposite(gown, "back_right") == gown.panel("back_left").at_mm
    assert stands_opposite(gown, "sleeve_right") == gown.panel("sleeve_left").at_mm
    bib = read_design((DESIGNS / "bib.toml").read_text(encoding="utf-8"))
    assert stands_opposite(bib, "bib") == (260, 0)
