from dataclasses import replace
from itertools import pairwise, product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.reckoning.asked import Wrong
from service.reckoning.band_kinds import BAND_KINDS, BandKind
from service.reckoning.bands import (
    LEFT_OVER_WAYS,
    BandAsk,
    BandPlan,
    apply_choice,
    plan_band,
)
from service.reckoning.bundles import clusters, spread_sizes

ASKS = st.builds(
    BandAsk,
    kind=st.sampled_from(BAND_KINDS),
    withdrawn_threads_per_cm=st.floats(5, 60),
    standing_threads_per_cm=st.floats(5, 60),
    withdraw_threads=st.integers(1, 60),
    standing_threads=st.integers(1, 3000),
    bundle_threads=st.integers(1, 12),
    stop_lines=st.integers(0, 2),
    closed_round=st.booleans(),
    pair_rows=st.integers(1, 2),
    into_seam=st.booleans(),
)
LADDER = BandAsk("ladder", 20, 19, withdraw_threads=18, standing_threads=96)


def amounts(plan: BandPlan) -> dict[str, float]:
    return {work.operation: work.quantity for work in plan.operations}


def codes(plan: BandPlan) -> list[str]:
    return [finding.code for finding in plan.findings]


def knots_by_hand(kind: BandKind, bundles: int, rows: int, *, closed: bool) -> int:
    """Walk the bundles one by one, as a needle does, instead of multiplying."""
    count = 0
    for bundle in range(bundles):
        count += 2 if kind in {"ladder", "ladder_paired", "serpentine"} else 1
        if kind == "ladder_paired" and bundle % 2:
            count += rows
    return count + (1 if kind == "serpentine" and not closed and bundles else 0)


@given(ASKS)
def test_bundles_and_left_over_threads_use_every_standing_thread(ask: BandAsk) -> None:
    plan = plan_band(ask)
    assert sum(plan.bundle_sizes) + plan.left_over_threads == plan.standing_threads == ask.standing_threads
    assert 0 <= plan.left_over_threads < ask.bundle_threads
    assert plan.bundle_sizes == (ask.bundle_threads,) * plan.bundles


@given(ASKS)
def test_the_sizes_of_every_choice_add_up_to_its_threads(ask: BandAsk) -> None:
    for choice in plan_band(ask).choices:
        assert sum(choice.bundle_sizes) == choice.standing_threads
        assert len(choice.bundle_sizes) == choice.bundles > 0
        assert choice.length_mm == pytest.approx(choice.standing_threads * 10 / ask.standing_threads_per_cm)
        assert max(choice.bundle_sizes) - min(choice.bundle_sizes) <= 1


@given(ASKS)
def test_a_choice_taken_leaves_nothing_to_choose(ask: BandAsk) -> None:
    for choice in plan_band(ask).choices:
        taken = apply_choice(ask, choice.way)
        assert (taken.choices, taken.bundle_sizes) == ((), choice.bundle_sizes)
        assert not {"left_over", "odd_bundles", "too_few"} & set(codes(taken))
        in_seam = ask.standing_threads or 0
        expected = (in_seam, in_seam - choice.standing_threads) if choice.way == "into_seam" else None
        assert (taken.standing_threads, taken.left_over_threads) == (expected or (choice.standing_threads, 0))


@given(ASKS)
def test_every_kind_makes_the_knots_a_needle_makes(ask: BandAsk) -> None:
    plan = plan_band(ask)
    assert plan.knots == knots_by_hand(ask.kind, plan.bundles, ask.pair_rows, closed=ask.closed_round)


@given(ASKS)
def test_nothing_is_negative_and_nothing_is_left_standing_at_zero(ask: BandAsk) -> None:
    plan = plan_band(ask)
    assert min(plan.withdraw_threads, plan.width_mm, plan.length_mm, plan.bundles, plan.left_over_threads) >= 0
    assert all(work.quantity > 0 for work in plan.operations)


@given(ASKS, st.floats(0.3, 100), st.floats(1, 2000))
def test_a_band_given_in_mm_is_within_half_a_thread_of_it(ask: BandAsk, width_mm: float, length_mm: float) -> None:
    in_mm = replace(ask, withdraw_threads=None, width_mm=width_mm, standing_threads=None, length_mm=length_mm)
    plan = plan_band(in_mm)
    assert abs(plan.width_mm - width_mm) <= 5 / ask.withdrawn_threads_per_cm + 1e-6
    assert abs(plan.length_mm - length_mm) <= 5 / ask.standing_threads_per_cm + 1e-6


@given(ASKS)
def test_a_band_given_in_its_own_mm_is_the_same_band(ask: BandAsk) -> None:
    plan = plan_band(ask)
    again = plan_band(
        replace(
            ask,
            withdraw_threads=None,
            width_mm=plan.width_mm,
            standing_threads=None,
            length_mm=plan.length_mm,
        )
    )
    assert replace(again, ask=ask) == plan


def test_width_comes_from_the_withdrawn_threads_and_length_from_the_standing_ones() -> None:
    plan = plan_band(BandAsk("ladder", 20, 10, withdraw_threads=18, standing_threads=96))
    assert (plan.width_mm, plan.length_mm) == (9.0, 96.0)


@pytest.mark.parametrize(
    ("stop_lines", "closed_round", "edge_stitch", "clip", "mark"),
    [
        (0, False, None, None, 20.0),
        (1, False, 0.9, 18, 20.9),
        (2, False, 1.8, 36, 21.8),
        (0, True, None, 18, 20.0),
        (1, True, 0.9, 18, 20.9),
        (2, True, 1.8, 18, 21.8),
    ],
)
def test_stop_lines_say_how_much_is_stitched_clipped_and_marked(
    *, stop_lines: int, closed_round: bool, edge_stitch: float | None, clip: int | None, mark: float
) -> None:
    ask = BandAsk(
        "ladder",
        20,
        20,
        withdraw_threads=18,
        standing_threads=200,
        stop_lines=stop_lines,
        closed_round=closed_round,
    )
    expected = {
        "mark": mark,
        "edge_stitch": edge_stitch,
        "clip": clip,
        "withdraw": 18,
        "ladder_knot": 100,
    }
    assert amounts(plan_band(ask)) == {name: value for name, value in expected.items() if value}


def test_a_tuck_band_is_worked_on_two_strips_and_knotted_once() -> None:
    ask = BandAsk("tuck_band", 20, 20, withdraw_threads=6, standing_threads=200)
    assert amounts(plan_band(ask)) == {
        "mark": 2 * 20.3,
        "edge_stitch": 0.6,
        "clip": 12,
        "withdraw": 12,
        "tuck_knot": 50,
    }


def test_the_work_is_that_of_the_whole_bundles() -> None:
    whole = plan_band(replace(LADDER, standing_threads=96))
    with_more = plan_band(replace(LADDER, standing_threads=99))
    assert with_more.operations == whole.operations
    assert (with_more.bundles, with_more.left_over_threads) == (24, 3)


def test_lengths_are_rounded_up_to_a_tenth_of_a_cm() -> None:
    # 96 threads at 19 per cm are 5.0526 cm, twice that and 0.9 cm are 11.005 cm
    assert amounts(plan_band(LADDER))["mark"] == 11.1


def test_left_over_threads_are_never_dropped_silently() -> None:
    plan = plan_band(replace(LADDER, standing_threads=50))
    assert [(finding.code, finding.waits) for finding in plan.findings] == [("left_over", True)]
    assert plan.findings[0].text.startswith("2 of 50 standing threads are left over after 12 bundles of 4: ")
    assert [
        (choice.way, choice.standing_threads, choice.bundles, max(choice.bundle_sizes)) for choice in plan.choices
    ] == [("shorter", 48, 12, 4), ("longer", 52, 13, 4), ("spread", 50, 12, 5), ("into_seam", 48, 12, 4)]


def test_left_over_threads_that_run_into_a_seam_are_no_finding() -> None:
    plan = plan_band(replace(LADDER, standing_threads=50, into_seam=True))
    assert (plan.findings, plan.choices, plan.left_over_threads, plan.bundles) == ((), (), 2, 12)


def test_running_into_the_seam_is_the_same_asked_or_chosen() -> None:
    ask = replace(LADDER, standing_threads=50)
    assert apply_choice(ask, "into_seam") == plan_band(replace(ask, into_seam=True))


@pytest.mark.parametrize("way", LEFT_OVER_WAYS)
def test_a_band_of_whole_bundles_stays_as_it_is(way: str) -> None:
    assert apply_choice(LADDER, way) == plan_band(LADDER)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("kind", "closed_round", "bundles", "expected"),
    [
        (kind, closed, bundles, bundles % 2 == 1 and (kind == "ladder_paired" or (kind == "alternating" and closed)))
        for kind, closed, bundles in product(BAND_KINDS, (False, True), (24, 25))
    ],
)
def test_pairs_and_alternating_rounds_want_an_even_number(
    *, kind: BandKind, closed_round: bool, bundles: int, expected: bool
) -> None:
    ask = BandAsk(kind, 20, 20, withdraw_threads=18, standing_threads=4 * bundles, closed_round=closed_round)
    plan = plan_band(ask)
    assert [(finding.code, finding.waits) for finding in plan.findings] == ([("odd_bundles", True)] if expected else [])


def test_an_odd_number_of_pairs_is_mended_by_two_bundles_at_a_time() -> None:
    plan = plan_band(replace(LADDER, kind="ladder_paired", standing_threads=54))
    assert codes(plan) == ["left_over", "odd_bundles"]
    assert {choice.way: choice.bundles for choice in plan.choices} == {
        "shorter": 12,
        "longer": 14,
        "spread": 12,
        "into_seam": 12,
    }


def test_an_odd_bundle_is_told_even_when_threads_run_into_a_seam() -> None:
    plan = plan_band(replace(LADDER, kind="ladder_paired", standing_threads=54, into_seam=True))
    assert codes(plan) == ["odd_bundles"]
    chosen = apply_choice(plan.ask, "into_seam")
    assert (chosen.bundles, chosen.left_over_threads, chosen.findings) == (12, 6, ())


def test_odd_threads_are_not_spread_over_a_serpentine() -> None:
    ask = replace(LADDER, kind="serpentine", standing_threads=50)
    assert [choice.way for choice in plan_band(ask).choices] == ["shorter", "longer", "into_seam"]
    with pytest.raises(
        Wrong, match="left_over: 'spread' is not open to this band: choose shorter or longer or into_seam"
    ):
        apply_choice(ask, "spread")


def test_a_band_too_short_for_one_bundle_asks_for_no_work_and_can_only_grow() -> None:
    plan = plan_band(replace(LADDER, standing_threads=3))
    assert (codes(plan), plan.bundles, plan.left_over_threads, plan.operations) == (["too_few"], 0, 3, ())
    assert [(choice.way, choice.standing_threads) for choice in plan.choices] == [("longer", 4)]


def test_a_band_narrower_than_half_a_thread_is_told_and_asks_for_no_work() -> None:
    plan = plan_band(replace(LADDER, withdraw_threads=None, width_mm=0.2))
    assert [(finding.code, finding.waits) for finding in plan.findings] == [("too_narrow", True)]
    assert (plan.withdraw_threads, plan.width_mm, plan.operations) == (0, 0.0, ())


@pytest.mark.parametrize(
    ("kind", "pair_rows", "width_mm", "close"),
    [
        ("ladder", 1, 1.0, False),
        ("ladder", 1, 0.9, True),
        ("serpentine", 1, 0.9, True),
        ("alternating", 1, 0.9, True),
        ("hem_band", 1, 0.5, False),
        ("tuck_band", 1, 0.5, False),
        ("ladder_paired", 1, 2.0, False),
        ("ladder_paired", 1, 1.9, True),
        ("ladder_paired", 2, 7.0, False),
        ("ladder_paired", 2, 6.9, True),
        ("ladder_paired", 2, 4.0, True),
    ],
)
def test_rows_of_knots_want_a_mm_between_them(
    *, kind: BandKind, pair_rows: int, width_mm: float, close: bool
) -> None:  # common practice, no source
    ask = BandAsk(kind, 100, 20, width_mm=width_mm, standing_threads=96, pair_rows=pair_rows)
    assert codes(plan_band(ask)) == (["rows_close"] if close else [])


def test_rows_that_would_pass_each_other_say_what_to_do_instead() -> None:
    ask = BandAsk("ladder_paired", 100, 20, width_mm=4, standing_threads=96, pair_rows=2)
    assert plan_band(ask).findings[0].text == (
        "Two rows of knots would pass each other in a band 4.00 mm wide: knot the pairs in one row only."
    )


@given(st.integers(1, 5000), st.integers(1, 300))
def test_odd_threads_are_spread_evenly(threads: int, bundles: int) -> None:
    sizes = spread_sizes(threads, bundles)
    assert (sum(sizes), len(sizes)) == (threads, bundles)
    assert max(sizes) - min(sizes) <= 1
    larger = [place for place, size in enumerate(sizes) if size > threads // bundles]
    gaps = {after - before for before, after in pairwise(larger)}
    assert not gaps or max(gaps) - min(gaps) <= 1


@given(st.integers(0, 5000), st.integers(1, 20))
def test_clusters_use_every_bundle(bundles: int, each: int) -> None:
    whole, left = clusters(bundles, each)
    assert (whole * each + left, 0 <= left < each) == (bundles, True)


def test_a_million_threads_are_planned_and_one_more_is_refused() -> None:
    plan = plan_band(replace(LADDER, standing_threads=1_000_000, bundle_threads=3))
    assert (plan.bundles, plan.left_over_threads) == (333_333, 1)
    assert [choice.way for choice in plan.choices] == ["shorter", "spread", "into_seam"]
    with pytest.raises(Wrong, match="standing_threads: must be at most 1e\\+06"):
        plan_band(replace(LADDER, standing_threads=1_000_001))


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"kind": "fringe"}, "kind"),
        ({"kind": None}, "kind"),
        ({"withdrawn_threads_per_cm": 0}, "withdrawn_threads_per_cm"),
        ({"standing_threads_per_cm": float("nan")}, "standing_threads_per_cm"),
        ({"standing_threads_per_cm": "19"}, "standing_threads_per_cm"),
        ({"bundle_threads": 0}, "bundle_threads"),
        ({"bundle_threads": 2.5}, "bundle_threads"),
        ({"stop_lines": 3}, "stop_lines"),
        ({"stop_lines": -1}, "stop_lines"),
        ({"stop_lines": True}, "stop_lines"),
        ({"pair_rows": 0}, "pair_rows"),
        ({"pair_rows": 3}, "pair_rows"),
        ({"closed_round": "no"}, "closed_round"),
        ({"into_seam": 1}, "into_seam"),
        ({"withdraw_threads": None}, "withdraw_threads"),
        ({"withdraw_threads": -1}, "withdraw_threads"),
        ({"width_mm": 9}, "withdraw_threads"),
        ({"withdraw_threads": None, "width_mm": -9}, "width_mm"),
        ({"withdraw_threads": None, "width_mm": float("inf")}, "width_mm"),
        ({"standing_threads": None}, "standing_threads"),
        ({"standing_threads": 0}, "standing_threads"),
        ({"length_mm": 300}, "standing_threads"),
        ({"standing_threads": None, "length_mm": 0}, "length_mm"),
        ({"standing_threads": None, "length_mm": 1e9}, "length_mm"),
    ],
)
def test_a_band_names_the_field_it_cannot_use(change: dict[str, object], field: str) -> None:
    ask = replace(LADDER, **change)  # type: ignore[arg-type]
    for plan in (plan_band, lambda ask: apply_choice(ask, "shorter")):
        with pytest.raises(Wrong) as refused:
            plan(ask)
        assert refused.value.field == field


def test_a_band_may_run_on_to_the_millionth_thread_and_no_further() -> None:
    million = apply_choice(replace(LADDER, standing_threads=999_998), "longer")
    assert million.standing_threads == 1_000_000
    with pytest.raises(Wrong, match="'longer' is not open to this band"):
        apply_choice(replace(LADDER, standing_threads=1_000_000, bundle_threads=7), "longer")
