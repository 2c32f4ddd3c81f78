"""Bands against the handbooks.

Dillmont: T. de Dillmont, Encyclopedia of Needlework, English edition, c. 1890, by figure. The books print the
threads withdrawn, the threads of a bundle and how bundles are joined; totals are arithmetic from those.
"""

import pytest

from service.reckoning.band_kinds import BandKind, rows_of_knots_mm
from service.reckoning.bands import (
    BandAsk,
    BandPlan,
    apply_choice,
    first_thread_mm,
    plan_band,
)
from service.reckoning.bundles import clusters
from service.reckoning.counts import convert

PER_INCH_50 = 50 / 2.54
PER_INCH_76 = 76 / 2.54


def planned(
    kind: BandKind,
    standing_threads: int,
    bundle_threads: int = 4,
    *,
    pair_rows: int = 1,
    closed_round: bool = False,
) -> BandPlan:
    return plan_band(
        BandAsk(
            kind,
            withdrawn_threads_per_cm=PER_INCH_50,
            standing_threads_per_cm=PER_INCH_50,
            withdraw_threads=18,
            standing_threads=standing_threads,
            bundle_threads=bundle_threads,
            pair_rows=pair_rows,
            closed_round=closed_round,
        )
    )


def knots_in(plan: BandPlan) -> dict[str, float]:
    return {work.operation: work.quantity for work in plan.operations if work.unit == "knot"}


@pytest.mark.parametrize(
    ("threads", "each"),
    [
        pytest.param(56, 4, id="Dillmont fig. 82: a pyramid of 14 bundles of 4"),
        pytest.param(42, 3, id="Dillmont fig. 83: a pyramid of 14 bundles of 3"),
    ],
)
def test_a_pyramid_takes_fourteen_bundles(threads: int, each: int) -> None:
    plan = planned("ladder", threads, each)
    assert (plan.bundles, plan.left_over_threads) == (14, 0)


@pytest.mark.parametrize(
    ("threads", "bundles", "tied"),
    [
        pytest.param(240, 60, (20, 0), id="Dillmont fig. 78: bundles of 4 tied in threes, 240 threads"),
        pytest.param(248, 62, (20, 2), id="Dillmont fig. 78: 248 threads leave two bundles untied"),
    ],
)
def test_bundles_tied_in_threes_repeat_every_twelve_threads(threads: int, bundles: int, tied: tuple[int, int]) -> None:
    plan = planned("ladder", threads)
    assert (plan.bundles, clusters(plan.bundles, 3)) == (bundles, tied)


def test_a_single_hem_stitch_takes_one_knot_a_bundle() -> None:  # Dillmont fig. 55: bundles of 3 or 4
    assert knots_in(planned("hem_band", 96)) == {"hem_knot": 24}


def test_a_ladder_takes_a_knot_on_both_edges_of_every_bar() -> None:  # Dillmont fig. 57; Christie 1906, fig. 116
    plan = planned("ladder", 96)
    assert (plan.bundles, knots_in(plan)) == (24, {"ladder_knot": 48})


def test_a_clustered_ladder_takes_twelve_pair_knots_a_row() -> None:  # Dillmont fig. 71
    plan = planned("ladder_paired", 96, pair_rows=2)
    assert knots_in(plan) == {"ladder_knot": 48, "pair_knot": 24}
    assert [finding.code for finding in plan.findings] == []


def test_fifty_threads_make_no_pairs_but_forty_eight_or_fifty_six_do() -> None:  # Dillmont fig. 71
    plan = planned("ladder_paired", 50)
    assert [finding.code for finding in plan.findings] == ["left_over"]
    ends = {choice.way: (choice.standing_threads, choice.bundles) for choice in plan.choices}
    assert (ends["shorter"], ends["longer"]) == ((48, 12), (56, 14))
    assert knots_in(apply_choice(plan.ask, "shorter"))["pair_knot"] == 6
    assert knots_in(apply_choice(plan.ask, "longer"))["pair_knot"] == 7


@pytest.mark.parametrize(
    ("closed_round", "knots"),
    [
        pytest.param(False, 12 + 11 + 2, id="Dillmont fig. 58, open: 12, then 11 whole and two halves"),
        pytest.param(True, 12 + 12, id="Dillmont fig. 58, in the round: 12 and 12"),
    ],
)
def test_a_serpentine_splits_its_bundles_at_the_second_edge(*, closed_round: bool, knots: int) -> None:
    plan = planned("serpentine", 48, closed_round=closed_round)
    assert (knots_in(plan), plan.findings) == ({"ladder_knot": knots}, ())


def test_a_serpentine_of_five_threads_is_told_to_be_even() -> None:  # Dillmont fig. 58
    plan = planned("serpentine", 50, 5)
    assert [(finding.code, finding.waits) for finding in plan.findings] == [("uneven_bundle", True)]


@pytest.mark.parametrize(
    ("threads_per_cm", "width_mm", "between_mm", "codes"),
    [
        pytest.param(PER_INCH_50, 9.144, 3.144, [], id="Dillmont fig. 71, 18 threads at 50 to the inch"),
        pytest.param(PER_INCH_76, 6.016, 0.016, ["rows_close"], id="Dillmont fig. 71, at 76 to the inch"),
    ],
)
def test_two_rows_three_mm_from_their_edges_need_a_deep_band(
    threads_per_cm: float, width_mm: float, between_mm: float, codes: list[str]
) -> None:
    ask = BandAsk(
        "ladder_paired",
        threads_per_cm,
        threads_per_cm,
        withdraw_threads=18,
        standing_threads=96,
        pair_rows=2,
    )
    plan = plan_band(ask)
    _, first, second, _ = rows_of_knots_mm("ladder_paired", plan.width_mm, 2)
    assert [plan.width_mm, second - first] == pytest.approx([width_mm, between_mm], abs=0.0005)
    assert [finding.code for finding in plan.findings] == codes


def test_a_one_inch_hem_draws_its_first_thread_two_and_an_eighth_inches_in() -> None:
    # School Sewing, para 115: twice the hem and the first turn. Hand Sewing Lessons, model 9, prints 2 1/8 in
    # for a pillow-case hem without its width.
    assert first_thread_mm(25.4, 25.4 / 8) == pytest.approx(2.125 * 25.4)


@pytest.mark.parametrize(
    ("withdrawn_per_cm", "printed", "carried"),
    [
        pytest.param(19, 16, 13, id="Dillmont fig. 71, 16 weft threads of linen 20 x 19 per cm"),
        pytest.param(19, 17, 13, id="Dillmont fig. 71, 17 weft threads of linen 20 x 19 per cm"),
        pytest.param(19, 18, 14, id="Dillmont fig. 71, 18 weft threads of linen 20 x 19 per cm"),
        pytest.param(20, 16, 12, id="Dillmont fig. 71, 16 warp threads of linen 20 x 19 per cm"),
        pytest.param(20, 17, 13, id="Dillmont fig. 71, 17 warp threads of linen 20 x 19 per cm"),
        pytest.param(20, 18, 13, id="Dillmont fig. 71, 18 warp threads of linen 20 x 19 per cm"),
    ],
)
def test_the_clustered_band_keeps_room_for_two_rows_at_38_to_the_inch(
    withdrawn_per_cm: float, printed: int, carried: int
) -> None:
    to = 38 / 2.54
    width_mm = convert(threads=printed, from_threads_per_cm=withdrawn_per_cm, to_threads_per_cm=to).width_mm
    plan = plan_band(BandAsk("ladder_paired", to, to, width_mm=width_mm, standing_threads=448, pair_rows=2))
    assert (plan.withdraw_threads, plan.findings) == (carried, ())
