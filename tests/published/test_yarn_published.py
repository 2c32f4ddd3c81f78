"""Yarn numbers, cover and weight against printed figures, and against pint's units."""

from math import sqrt

import pint
import pytest

from service.reckoning.yarn import (
    BURN_TEST_BELOW_G_PER_M2,
    Threads,
    average_tex,
    cover_peirce,
    cover_si,
    number_of,
    tex_of,
    tex_of_put_up,
    weight_g_per_m2,
)

UNITS: pint.UnitRegistry[float] = pint.UnitRegistry()
IN_PER_CM = 1 / 2.54


@pytest.mark.parametrize(
    ("given", "system", "printed", "within"),
    [
        # W2.3 to W2.6: Shawl Weaving Artisan - TT, a trade-training text, pp. 70-72.
        pytest.param(tex_of("Ne", 20), "NeL", 56, 1e-9, id="Ne 20 is 56 lea, training text"),
        pytest.param(tex_of("Nm", 40), "Ne", 23.62, 0.005, id="Nm 40 is Ne 23.62, training text"),
        pytest.param(tex_of("Nm", 48, 2), "Nm", 24, 1e-9, id="Nm 2/48 is Nm 24, training text"),
        pytest.param(tex_of("Nm", 48, 2), "Ne", 14.17, 0.005, id="Nm 2/48 is Ne 14.17, training text"),
        pytest.param(tex_of("Ne", 30), "tex", 19.7, 0.05, id="Ne 30 is 19.7 tex, training text"),
        pytest.param(tex_of("Ne", 30), "denier", 177.17, 0.01, id="Ne 30 is 177.17 denier, training text"),
        # W2.7 and W2.10, worked from the definitions (a pound is 453.59237 g, a lea 300 yd), not printed.
        pytest.param(tex_of("NeL", 40), "tex", 41.34, 0.005, id="40 lea in tex, worked"),
        pytest.param(tex_of("NeL", 40), "Ne", 14.29, 0.005, id="40 lea in Ne, worked"),
        pytest.param(tex_of("NeL", 40), "Nm", 24.19, 0.005, id="40 lea in Nm, worked"),
        pytest.param(tex_of("NeL", 66), "tex", 25.05, 0.005, id="66 lea in tex, worked"),
        # W5.4 to W5.6, apparel teaching pages, their names not kept: metric ticket = 3 Nm, cotton ticket = 3 Ne.
        pytest.param(40.0, "metric ticket", 75, 1e-9, id="tex 40 is ticket 75, teaching page"),
        pytest.param(tex_of("Nm", 80, 2), "metric ticket", 120, 1e-9, id="Nm 80/2 is ticket 120, teaching page"),
        pytest.param(tex_of("Ne", 60, 3), "cotton ticket", 60, 1e-9, id="Ne 60/3 is ticket 60, teaching page"),
        # Part 2.3, groenkennisnet, 7.1.6 Yarn numbering, a table: 590.5, 1653.5, 885.8.
        pytest.param(1.0, "Ne", 590.5, 0.05, id="cotton constant, numbering table"),
        pytest.param(1.0, "NeL", 1653.5, 0.05, id="linen constant, numbering table"),
        pytest.param(1.0, "Nw", 885.8, 0.05, id="worsted constant, numbering table"),
    ],
)
def test_a_yarn_number_is_the_printed_one(given: float, system: str, printed: float, within: float) -> None:
    assert number_of(system, given) == pytest.approx(printed, abs=within)


@pytest.mark.parametrize(
    ("system", "number", "plies", "yards"),
    [
        # W2.8 and W2.9, printed in a table of weaving yarns, its name not kept; W2.7 worked.
        pytest.param("NeL", 20, 2, 3000, id="20/2 linen, weaving-yarn table"),
        pytest.param("Ne", 3, 2, 1260, id="3/2 cotton, weaving-yarn table"),
        pytest.param("NeL", 40, 1, 12_000, id="40 lea linen, worked"),
    ],
)
def test_a_pound_of_yarn_measures_the_printed_yards(system: str, number: float, plies: int, yards: int) -> None:
    grams_per_km = tex_of(system, number, plies) * UNITS.gram / UNITS.kilometer
    assert (1 / grams_per_km).to("yard / pound").magnitude == pytest.approx(yards)


@pytest.mark.parametrize(
    ("system", "unit"),
    [
        ("tex", "tex"),
        ("denier", "denier"),
        ("Nm", "number_meter"),
        ("Ne", "number_english"),
        ("Nw", None),
        ("NeL", None),
    ],
)
def test_pint_reckons_the_same_from_its_own_definitions(system: str, unit: str | None) -> None:
    yards = {"Nw": 560, "NeL": 300}.get(system, 0)
    quantity = 37 * UNITS(unit) if unit else 37 * yards * UNITS("yard / pound")
    direct = quantity if system in {"tex", "denier"} else 1 / quantity

    assert tex_of(system, 37) == pytest.approx(direct.to("gram / kilometer").magnitude)
    assert number_of(system, tex_of(system, 37)) == pytest.approx(37)


def test_ball_labels_give_the_expected_tex() -> None:
    # Part 5, put-ups, as listed on homequestionsanswered, a question page: 10 g balls of pearl cotton at 45, 80 and 120 m.
    assert [round(tex_of_put_up(10, length)) for length in (45, 80, 120)] == [222, 125, 83]


def test_cover_of_a_20_tex_cloth_with_28_threads_per_cm() -> None:
    # W2.1 and W2.2, a textile institute's handout: K = 12.5. Its 12.9 for Peirce's form is a slip; 71.12 / sqrt(29.53) is 13.09.
    assert cover_si(28, 20) == pytest.approx(12.5, abs=0.05)
    assert cover_peirce(28, 20) == pytest.approx(71.12 / sqrt(29.527), abs=0.001)


def test_cover_of_a_66_lea_linen_with_60_threads_to_the_inch() -> None:
    # W2.10, worked from the two formulas of that handout, not printed.
    tex = tex_of("NeL", 66)
    assert cover_si(60 * IN_PER_CM, tex) == pytest.approx(11.82, abs=0.005)
    assert cover_peirce(60 * IN_PER_CM, tex) == pytest.approx(12.36, abs=0.005)


def test_weight_of_120_by_70_in_40s_by_30s() -> None:
    # W2.17, mill practice without a source: GSM = (ends (1 + c) / Ne + picks (1 + c) / Ne) × 23.25; 128.8 worked from it.
    warp = Threads(120 * IN_PER_CM, tex_of("Ne", 40), 3)
    weft = Threads(70 * IN_PER_CM, tex_of("Ne", 30), 5)

    assert weight_g_per_m2(warp, weft) == pytest.approx((120 * 1.03 / 40 + 70 * 1.05 / 30) * 23.2497, rel=1e-5)
    assert weight_g_per_m2(warp, weft) == pytest.approx(128.8, abs=0.05)


def test_average_yarn_number_of_the_former_us_tariff() -> None:
    # W2.18, Tariff Schedules of the United States, schedule 3 part 3:
    # N = BYT/840 = 24T/(35Z') = 2BT/(105Z) = 3ST/70, for an 88 × 88 cloth of 2 oz per
    # square yard, 45 in wide; 60.34 by all four.
    threads, ounces, width = 176, 2, 45
    ounces_a_yard = ounces * width / 36
    four = [
        width * (16 / ounces_a_yard) * threads / 840,
        24 * threads / (35 * ounces),
        2 * width * threads / (105 * ounces_a_yard),
        3 * (16 / ounces) * threads / 70,
    ]
    g_per_m2 = (ounces * UNITS.ounce / UNITS.yard**2).to("gram / meter**2").magnitude

    average = average_tex(88 * IN_PER_CM, 88 * IN_PER_CM, g_per_m2)

    assert four == pytest.approx([60.34] * 4, abs=0.01)
    assert number_of("Ne", average) == pytest.approx(60.34, abs=0.01)


def test_the_weight_below_which_burning_is_tested_is_the_rules_own() -> None:
    # 16 CFR 1610.1(d), as quoted by importers: 2.6 oz per square yard, 88.2 g per square metre.
    exact = (2.6 * UNITS.ounce / UNITS.yard**2).to("gram / meter**2").magnitude
    assert round(exact, 1) == BURN_TEST_BELOW_G_PER_M2
