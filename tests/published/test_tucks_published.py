"""Tucks against printed figures.

NIMI: National Instructional Media Institute, CITS Dress Making, Trade Practical, p. 209 (exercise 48), in cm.
BALDT: Laura Baldt, Clothing for Women, 1916, ch. XXII (a tuck takes up twice its depth), with Home and School
Sewing, ch. XXI, saying the same.
"""

import pytest

from service.reckoning.tucks import TucksAsk, plan_tucks, take_up_mm, tucks_across

INCH_MM = 25.4


def test_nimi_39_cm_at_a_pitch_of_1_2_cm_takes_31_tucks() -> None:
    even = tucks_across(390, edge_mm=15, spacing_mm=12)
    assert (even.gaps, even.tucks, even.spacing_mm) == (30, 31, 12)


def test_nimi_28_cm_rounds_its_gaps_up_and_reckons_the_pitch_again() -> None:
    even = tucks_across(280, edge_mm=20, spacing_mm=15 + 2)
    assert (even.gaps, even.tucks, even.spacing_mm) == (15, 16, 16)


def test_nimi_28_cm_with_16_tucks_of_2_mm_needs_a_pattern_of_34_4_cm() -> None:
    plan = plan_tucks(TucksAsk(16, 2, 20, 280, spacing_mm=16))
    assert (plan.take_up_mm, plan.block_width_mm) == (64, 344)
    outermost_mm = plan.lines[-1].from_centre_mm
    assert plan.block_width_mm / 2 - outermost_mm == pytest.approx(20)  # the plain edge the exercise asks


def test_nimi_four_tucks_of_an_eighth_inch_take_an_inch() -> None:
    plan = plan_tucks(TucksAsk(4, INCH_MM / 8, 20, 200))
    assert plan.take_up_mm == INCH_MM


@pytest.mark.parametrize("depth_mm", [1, 3.175, 12.5], ids=lambda depth: f"BALDT-{depth}")
def test_a_tuck_takes_twice_its_depth(depth_mm: float) -> None:
    assert take_up_mm(depth_mm) == 2 * depth_mm
