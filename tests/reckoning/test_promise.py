"""From a sum to what is left out: against every choice tried in turn, and what may be left out at all."""

from dataclasses import replace
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


LADDER = SectionDesign(
    "front.ladder",
    "Ladder",
    "ladder",
    placements=(Placement("front", "bottom", 60, from_mm=50, to_mm=250),),
    direction="across",
    withdraw_threads=12,
    stop_lines=2,
)
NARROW = replace(
    LADDER, key="front.narrow", name="Narrow", placements=(Placement("front", "bottom", 90, from_mm=50, to_mm=150),)
)
EDGE = (Placement("front", along="290,0 290,400"),)
FRONT = PanelDesign(
    "front",
    "Front",
    "front",
    "gown",
    300,
    400,
    "10,0 290,0 290,400 10,400",
    sections=(LADDER, NARROW, SectionDesign("front.side", "Side", "binding", placements=EDGE, finished_width_mm=5)),
)
OUTSIDE = replace(LADDER, key="front.outside", placements=(Placement("front", "bottom", 500),), stop_lines=0)
DESIGN = Design("gown", "Gown", (ClothDesign("gown", "Linen", ClothCounts(20, 20)),), (FRONT,))
SMALL, LARGE = Openwork(("a",), "A", 10, 100), Openwork(("b",), "B", 25, 300)


def test_openwork_is_the_width_of_what_is_withdrawn_times_its_length() -> None:
    """12 threads at 20 to the cm are 6 mm wide, 200 and 100 mm long: 1,200 and 600 mm²; a binding has none."""
    plan = plan_garment(DESIGN, own_cloths(DESIGN))
    assert openwork_mm2(plan) == pytest.approx(1800)
    narrow, ladder = bands_to_leave_out(plan)
    assert [(band.keys, band.name) for band in (narrow, ladder)] == [
        (("front.narrow",), "Narrow"),
        (("front.ladder",), "Ladder"),
    ]
    assert [narrow.area_mm2, ladder.area_mm2] == pytest.approx([600, 1200])
    assert ladder.seconds == plan.section("front.ladder").after.seconds > narrow.seconds > 0


def test_a_band_outside_the_pattern_is_no_openwork() -> None:
    design = replace(DESIGN, panels=(replace(FRONT, sections=(OUTSIDE,)),))
    assert openwork_mm2(plan_garment(design, own_cloths(design))) == 0


@pytest.mark.parametrize(
    ("at_most", "found", "reckoned"),
    [
        (1000, LeftOut((), 1000), [""]),
        (900, LeftOut((SMALL,), 900), ["", "AB", "A"]),
        (899, LeftOut((LARGE,), 700), ["", "AB", "A", "B"]),  # 900 is within a hundredth of it and is reckoned
        (880, LeftOut((LARGE,), 700), ["", "AB", "B"]),  # 900 is not
        (600, LeftOut((SMALL, LARGE), 600), ["", "AB"]),
        (599, None, ["", "AB"]),
    ],
)
def test_the_least_openwork_that_brings_a_thousand_down_to_the_sum_is_left_out(
    at_most: int, found: LeftOut | None, reckoned: list[str]
) -> None:
    """Of 1,000 the small band is 100 and the large one 300."""
    asked: list[str] = []

    def total(way: tuple[Openwork, ...]) -> int:
        asked.append("".join(band.name for band in way))
        return 1000 - round(sum(band.seconds for band in way))

    assert least_left_out([SMALL, LARGE], at_most, total) == found
    assert asked == reckoned


def test_a_choice_guessed_to_miss_by_a_whole_hundredth_is_still_reckoned() -> None:
    """Half of the 1,030 that both save leave 1,515 of 2,030, a hundredth over 1,500; reckoned, the band saves 530."""
    one, other = Openwork(("a",), "A", 10, 60), Openwork(("b",), "B", 25, 60)
    totals = {(): 2030, (one,): 1500, (other,): 1400, (one, other): 1000}
    assert least_left_out([one, other], 1500, lambda way: totals[way]) == LeftOut((one,), 1500)


def test_bands_that_nobody_could_time_are_left_out_all_together() -> None:
    one, other = Openwork(("a",), "A", 10, 0), Openwork(("b",), "B", 25, 0)
    totals = {(): 1000, (one,): 600, (other,): 600, (one, other): 500}
    assert least_left_out([one, other], 700, lambda way: totals[way]) == LeftOut((one, other), 500)


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
