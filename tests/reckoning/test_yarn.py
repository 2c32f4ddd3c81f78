"""Yarn numbers, cover, weight and the two cautions."""

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.reckoning.asked import Wrong
from service.reckoning.yarn import (
    PER_TEX,
    TEX_TIMES,
    Threads,
    average_tex,
    burning_findings,
    cover_of,
    cover_peirce,
    cover_si,
    number_of,
    square_findings,
    tex_of,
    tex_of_put_up,
    weight_g_per_m2,
)

SYSTEMS = (*PER_TEX, *TEX_TIMES)
NUMBERS = st.floats(0.01, 1e5)
COUNTS = st.floats(1, 200)
THREADS = st.builds(Threads, per_cm=COUNTS, tex=st.floats(1, 500), crimp_percent=st.floats(0, 30))
NONSENSE = [0, -1, math.nan, math.inf]


@given(system=st.sampled_from(SYSTEMS), number=NUMBERS)
def test_a_yarn_number_survives_the_way_through_tex(system: str, number: float) -> None:
    tex = tex_of(system, number)
    if tex <= 1e6:
        assert number_of(system, tex) == pytest.approx(number)


@given(system=st.sampled_from(SYSTEMS), number=NUMBERS, plies=st.integers(1, 12))
def test_folding_makes_the_yarn_as_many_times_heavier(system: str, number: float, plies: int) -> None:
    assert tex_of(system, number, plies) == pytest.approx(plies * tex_of(system, number))


@given(tex=st.floats(0.1, 1e4))
def test_linen_runs_2_8_times_the_cotton_number_and_worsted_1_5_times(tex: float) -> None:
    assert number_of("NeL", tex) == pytest.approx(2.8 * number_of("Ne", tex))
    assert number_of("Nw", tex) == pytest.approx(1.5 * number_of("Ne", tex))
    assert number_of("Nm", tex) == pytest.approx(1.69336 * number_of("Ne", tex), rel=1e-5)


@given(per_cm=COUNTS, tex=st.floats(0.1, 1e4))
def test_peirces_cover_is_1_045_times_the_si_one_for_any_cloth(per_cm: float, tex: float) -> None:
    assert cover_peirce(per_cm, tex) / cover_si(per_cm, tex) == pytest.approx(25.4 / math.sqrt(590.5412))


@given(warp=THREADS, weft=THREADS)
def test_a_cloths_cover_is_that_of_its_warp_and_its_weft(warp: Threads, weft: Threads) -> None:
    si, peirce = cover_of(warp, weft)

    assert (si.warp, si.weft) == (cover_si(warp.per_cm, warp.tex), cover_si(weft.per_cm, weft.tex))
    assert si.cloth == si.warp + si.weft
    assert peirce.cloth == cover_peirce(warp.per_cm, warp.tex) + cover_peirce(weft.per_cm, weft.tex)


@given(warp=THREADS, weft=THREADS)
def test_weight_is_the_same_turned_and_doubles_with_the_yarn(warp: Threads, weft: Threads) -> None:
    weight = weight_g_per_m2(warp, weft)
    heavier = [Threads(each.per_cm, 2 * each.tex, each.crimp_percent) for each in (warp, weft)]

    assert weight_g_per_m2(weft, warp) == pytest.approx(weight)
    assert weight_g_per_m2(*heavier) == pytest.approx(2 * weight)


@given(warp=COUNTS, weft=COUNTS, tex=st.floats(1, 500))
def test_the_average_yarn_of_a_cloth_of_one_yarn_is_that_yarn(warp: float, weft: float, tex: float) -> None:
    weight = weight_g_per_m2(Threads(warp, tex), Threads(weft, tex))

    assert average_tex(warp, weft, weight) == pytest.approx(tex)


def test_crimp_counts_as_yarn() -> None:
    assert weight_g_per_m2(Threads(20, 25, 10), Threads(20, 25)) == pytest.approx(55 + 50)


@pytest.mark.parametrize(
    ("weight", "fibre", "codes"),
    [
        (88.19, "linen", ["burn_test"]),
        (88.2, "linen", []),
        (70, "", ["burn_test"]),
        (70, "cotton, wool", ["burn_test"]),
        (70, " Wool ", []),
        (70, "polyester", []),
        (70, "silk", ["burn_test"]),
    ],
)
def test_light_cloth_must_be_burn_tested_unless_wholly_of_a_listed_fibre(
    weight: float, fibre: str, codes: list[str]
) -> None:
    assert [finding.code for finding in burning_findings(weight, fibre)] == codes


def test_the_burning_caution_defers_to_local_rules() -> None:
    (finding,) = burning_findings(70.04, "linen")

    assert finding.text == (
        "This cloth weighs 70.0 g per square metre, lighter than 88.2 and not a listed fibre: in the US it "
        "must be tested for burning before sale (16 CFR 1610). Sheer cloth burns fast, and candles are lit at "
        "christenings. This is a reminder, not legal advice or a safety certificate. Rules differ by country and "
        "change. Before you sell, check with your local product-safety office or a qualified test house."
    )


@pytest.mark.parametrize(
    ("warp", "weft", "told"),
    [
        (20, 20, None),
        (20, 19.05, None),
        (19.05, 20, None),
        (21, 20, None),
        (20, 21, None),
        (42 / 2.54, 40 / 2.54, None),
        (21.01, 20, "5 % too long along the warp: for every 20 warp threads drawn, draw 19.0 weft threads."),
        (20, 18, "11 % too long along the warp: for every 20 warp threads drawn, draw 18.0 weft threads."),
        (18, 20, "11 % too long along the weft: for every 20 weft threads drawn, draw 18.0 warp threads."),
    ],
)
def test_unequal_counts_cannot_make_square_cut_work(warp: float, weft: float, told: str | None) -> None:
    texts = [finding.text for finding in square_findings(warp, weft)]

    assert texts == (
        [f"With the same number of threads each way, a square of cut work comes out {told}"] if told else []
    )


@given(
    coarser=st.integers(1, 4000),
    beyond=st.sampled_from([-1, 0, 1]),
    unit=st.sampled_from([("cm", 100), ("inch", 254)]),
    turned=st.booleans(),
)
def test_counts_five_in_a_hundred_apart_are_square_and_one_thread_more_is_not(
    coarser: int, beyond: int, unit: tuple[str, int], turned: bool
) -> None:
    counts = [20 * coarser / unit[1], (21 * coarser + beyond) / unit[1]]  # to the 1/100 cm, or by the inch

    assert bool(square_findings(*(reversed(counts) if turned else counts))) == (beyond > 0)


@given(warp=COUNTS, weft=COUNTS)
def test_squareness_does_not_depend_on_which_way_the_cloth_lies(warp: float, weft: float) -> None:
    assert len(square_findings(warp, weft)) == len(square_findings(weft, warp))


@pytest.mark.parametrize("value", NONSENSE)
def test_nonsense_is_refused_by_name(value: float) -> None:
    good = Threads(20, 25)
    calls: list[tuple[str, Callable[[], object]]] = [
        ("number", lambda: tex_of("Nm", value)),
        ("tex", lambda: number_of("Nm", value)),
        ("mass_g", lambda: tex_of_put_up(value, 1)),
        ("length_m", lambda: tex_of_put_up(1, value)),
        ("per_cm", lambda: cover_si(value, 25)),
        ("tex", lambda: cover_si(20, value)),
        ("per_cm", lambda: cover_peirce(value, 25)),
        ("tex", lambda: cover_peirce(20, value)),
        ("warp.per_cm", lambda: weight_g_per_m2(Threads(value, 25), good)),
        ("weft.tex", lambda: weight_g_per_m2(good, Threads(20, value))),
        ("warp.tex", lambda: cover_of(Threads(20, value), good)),
        ("weft.per_cm", lambda: cover_of(good, Threads(value, 25))),
        ("warp_per_cm", lambda: average_tex(value, 20, 100)),
        ("weft_per_cm", lambda: average_tex(20, value, 100)),
        ("g_per_m2", lambda: average_tex(20, 20, value)),
        ("g_per_m2", lambda: burning_findings(value)),
        ("warp_per_cm", lambda: square_findings(value, 20)),
        ("weft_per_cm", lambda: square_findings(20, value)),
    ]
    for field, call in calls:
        with pytest.raises(Wrong) as refused:
            call()
        assert refused.value.field == field


@pytest.mark.parametrize("crimp", [-1, 101, math.nan])
def test_a_crimp_no_yarn_has_is_refused(crimp: float) -> None:
    with pytest.raises(Wrong, match=r"warp\.crimp_percent"):
        weight_g_per_m2(Threads(20, 25, crimp), Threads(20, 25))


@pytest.mark.parametrize("plies", [0, 1.5, 1001])
def test_plies_are_whole(plies: float) -> None:
    with pytest.raises(Wrong, match="plies"):
        tex_of("Nm", 40, plies)  # type: ignore[arg-type]


def test_an_unknown_system_is_refused_with_those_known() -> None:
    for call in (tex_of, number_of):
        with pytest.raises(Wrong) as refused:
            call("grist", 40)
        assert refused.value.field == "system"
        assert refused.value.sentence == (
            "must be one of tex, denier, Nm, Ne, NeL, Nw, metric ticket, cotton ticket, not 'grist'"
        )
