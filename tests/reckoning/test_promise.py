"""From a sum to what is left out: against every choice tried in turn, and what may be left out at all."""

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.reckoning.carry import own_cloths, plan_garment
from service.reckoning.design_text import read_design
from service.reckoning.designs import ClothCounts, ClothDesign, Design, PanelDesign, Placement, SectionDesign
from service.reckoning.plans import GarmentPlan
from service.reckoning.promise import (
    CAN_BE_LEFT_OUT,
    LeftOut,
    Openwork,
    bands_to_leave_out,
    least_left_out,
    openwork_mm2,
    ways_to_leave_out,
    without,
)

DESIGNS = Path(__file__).resolve().parents[2] / "seed_data" / "designs"


@pytest.fixture(scope="module")
def gown() -> GarmentPlan:
    design = read_design((DESIGNS / "christening_gown.toml").read_text(encoding="utf-8"))
    return plan_garment(design, own_cloths(design))


def test_only_single_layered_bands_can_be_left_out_mirrors_together(gown: GarmentPlan) -> None:
    bands = bands_to_leave_out(gown)
    keys = {key for band in bands for key in band.keys}
    assert keys == {section.key for section in gown.sections if section.kind in CAN_BE_LEFT_OUT}
    for section in gown.sections:
        if section.mirror_of and section.key in keys:
            (together,) = [band for band in bands if section.key in band.keys]
            assert section.mirror_of in together.keys
    areas = [band.area_mm2 for band in bands]
    assert areas == sorted(areas)
    assert 0 < sum(areas) < openwork_mm2(gown)


def test_a_plan_without_bands_has_all_other_sections_and_less_openwork(gown: GarmentPlan) -> None:
    band = bands_to_leave_out(gown)[0]
    less = without(gown, [band])
    assert [each.key for each in less.sections] == [each.key for each in gown.sections if each.key not in band.keys]
    assert openwork_mm2(less) == pytest.approx(openwork_mm2(gown) - band.area_mm2)


def test_openwork_is_the_width_of_what_is_withdrawn_times_its_length() -> None:
    """12 threads at 20 to the cm are 6 mm wide, 200 mm long: 1,200 mm²; a seam has none."""
    ladder = SectionDesign(
        "front.ladder",
        "Ladder",
        "ladder",
        placements=(Placement("front", "bottom", 60, from_mm=50, to_mm=250),),
        direction="across",
        withdraw_threads=12,
        stop_lines=2,
    )
    side = SectionDesign("front.side", "Side", "seam", placements=(Placement("front", along="290,0 290,400"),))
    front = PanelDesign(
        "front", "Front", "front", "gown", 300, 400, "10,0 290,0 290,400 10,400", sections=(ladder, side)
    )
    design = Design("gown", "Gown", (ClothDesign("gown", "Linen", ClothCounts(20, 20)),), (front,))
    assert openwork_mm2(plan_garment(design, own_cloths(design))) == pytest.approx(1200)


def test_the_larger_of_two_bands_alone_is_left_out_when_the_smaller_saves_too_little() -> None:
    """Of 1,000 the small band saves 100 and the large one 300: at most 750 is reached without the small one's loss."""
    small, large = Openwork(("a",), "A", 10, 100), Openwork(("b",), "B", 25, 300)
    found = least_left_out([small, large], 750, lambda way: 1000 - round(sum(band.seconds for band in way)))
    assert found == LeftOut((large,), 700)


BANDS = st.lists(
    st.builds(
        Openwork,
        keys=st.just(("x",)),
        name=st.text(max_size=3),
        area_mm2=st.integers(1, 50),
        seconds=st.integers(1, 50),
    ),
    max_size=5,
)


@settings(max_examples=60)
@given(BANDS, st.integers(0, 400))
def test_no_choice_that_fits_loses_less(bands: list[Openwork], at_most: int) -> None:
    def total(way: tuple[Openwork, ...]) -> int:
        return 300 - round(sum(band.seconds for band in way))

    fitting = [way for way in ways_to_leave_out(bands) if total(way) <= at_most]
    found = least_left_out(bands, at_most, total)
    if found is None:
        assert fitting == []
    else:
        assert found.total == total(found.bands) <= at_most
        assert found.area_mm2 == min(sum(band.area_mm2 for band in way) for way in fitting)


def test_few_choices_are_reckoned_although_a_thousand_are_there() -> None:
    bands = [Openwork((f"{place}",), f"{place}", 10.0 + place, 100.0 + 7 * place) for place in range(10)]
    asked: list[tuple[Openwork, ...]] = []

    def total(way: tuple[Openwork, ...]) -> int:
        asked.append(way)
        return 5000 - round(sum(band.seconds for band in way))

    found = least_left_out(bands, 4400, total)
    assert found is not None
    assert found.total <= 4400
    assert len(ways_to_leave_out(bands)) == 1024
    assert len(asked) <= 8


def test_six_choices_that_save_nothing_are_reckoned_and_then_everything_is_left_out() -> None:
    bands = tuple(Openwork((f"{place}",), f"{place}", 10.0, 100.0) for place in range(8))
    asked: list[int] = []

    def total(way: tuple[Openwork, ...]) -> int:
        asked.append(len(way))
        return 4000 if len(way) == len(bands) else 5000

    found = least_left_out(bands, 4600, total)
    assert found is not None
    assert (len(found.bands), found.total) == (8, 4000)
    assert asked == [0, 8, 3, 3, 3, 3, 3, 3]  # three of eight may save 375 of the 400, near enough to be reckoned
