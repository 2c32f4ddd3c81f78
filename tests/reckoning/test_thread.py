"""Working thread: lengths, needlefuls, skeins, and what is a guess."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.reckoning.asked import Wrong
from service.reckoning.operations import OPERATIONS
from service.reckoning.thread import ThreadAsk, ThreadUse, Worked, plan_thread, used_ratio
from service.reckoning.thread_rates import THREAD_RATES, thread_ratio

WIDTHS = st.none() | st.floats(0.5, 50)
WORK = st.builds(
    Worked,
    operation=st.sampled_from(sorted(OPERATIONS)),
    quantity=st.just(0.0) | st.floats(0.01, 5000),
    width_mm=WIDTHS,
)
ASKS = st.builds(
    ThreadAsk,
    operations=st.lists(WORK, min_size=1, max_size=6).map(tuple),
    skein_mm=st.floats(500, 20_000),
    needleful_mm=st.floats(150, 450),
    correction=st.none() | st.floats(0.1, 10),
)
SEAM = ThreadAsk((Worked("seam", 100),), skein_mm=8000)


@given(ASKS)
def test_needlefuls_and_skeins_hold_the_thread_with_less_than_one_over(ask: ThreadAsk) -> None:
    plan = plan_thread(ask)

    cut = sum(use.thread_mm for use in plan.by_operation if not use.uncut)
    uncut = [use.thread_mm for use in plan.by_operation if use.uncut and use.thread_mm > 0]
    needlefuls = plan.needlefuls - len(uncut)
    worked_of_each = ask.needleful_mm - 80
    assert (needlefuls - 1) * worked_of_each < cut or not needlefuls
    assert cut <= needlefuls * worked_of_each * (1 + 1e-6)
    assert plan.working_thread_mm == pytest.approx(needlefuls * ask.needleful_mm + sum(uncut))
    assert (plan.skeins - 1) * ask.skein_mm < plan.working_thread_mm or not plan.skeins
    assert plan.working_thread_mm <= plan.skeins * ask.skein_mm * (1 + 1e-6)
    assert plan.working_thread_mm >= cut + sum(uncut) - 1e-6


@given(ask=ASKS, times=st.integers(2, 5))
def test_thread_left_in_the_work_grows_with_the_work(ask: ThreadAsk, times: int) -> None:
    more = replace(ask, operations=tuple(replace(one, quantity=times * one.quantity) for one in ask.operations))

    before, after = plan_thread(ask), plan_thread(more)

    assert [use.thread_mm for use in after.by_operation] == pytest.approx(
        [times * use.thread_mm for use in before.by_operation]
    )
    assert after.working_thread_mm >= before.working_thread_mm


@given(work=WORK, width=st.floats(0.5, 40), wider=st.floats(0.1, 10))
def test_a_wider_unit_never_takes_less_thread(work: Worked, width: float, wider: float) -> None:
    lengths = [
        plan_thread(ThreadAsk((replace(work, width_mm=mm),), 8000)).by_operation[0].thread_mm
        for mm in (width, width + wider)
    ]
    assert lengths[0] <= lengths[1]


@given(reckoned=st.floats(1, 1e6), times=st.floats(0.1001, 9.999))
def test_what_was_really_used_corrects_the_next_reckoning(reckoned: float, times: float) -> None:
    correction = used_ratio(reckoned, reckoned * times)

    corrected = plan_thread(replace(SEAM, correction=correction)).by_operation[0].thread_mm
    assert corrected == pytest.approx(times * plan_thread(SEAM).by_operation[0].thread_mm)


def test_a_learned_reckoning_is_marked_so_and_guesses_no_more() -> None:
    work = (Worked("hem_knot", 10), Worked("seam", 3))

    learned = plan_thread(ThreadAsk(work, 8000, correction=1.0))

    assert [use.guessed for use in learned.by_operation] == [False, False]
    assert [use.guessed for use in plan_thread(ThreadAsk(work, 8000)).by_operation] == [True, False]
    assert [(finding.code, finding.text) for finding in learned.findings] == [
        ("learned", "Learned: corrected to 100 % of what is reckoned, by what was really used before.")
    ]


def test_every_rate_belongs_to_an_operation() -> None:
    assert set(THREAD_RATES) <= set(OPERATIONS)
    assert all(
        bool(rate.travel) == bool(rate.width_means) == bool(rate.usual_width_mm) for rate in THREAD_RATES.values()
    )


@pytest.mark.parametrize("operation", ["mark", "clip", "withdraw", "press", "cut_out", "fasten_off", "cut_bias"])
def test_work_without_a_stitch_takes_no_thread(operation: str) -> None:
    plan = plan_thread(ThreadAsk((Worked(operation, 100, 10),), 8000))

    assert (plan.working_thread_mm, plan.needlefuls, plan.skeins, plan.findings) == (0, 0, 0, ())


@pytest.mark.parametrize("operation", sorted(THREAD_RATES))
def test_no_work_takes_no_thread(operation: str) -> None:
    plan = plan_thread(ThreadAsk((Worked(operation, 0),), 8000))

    assert (plan.working_thread_mm, plan.needlefuls, plan.skeins, plan.findings) == (0, 0, 0, ())


@pytest.mark.parametrize(
    ("work", "thread_mm"),
    [
        pytest.param(Worked("seam", 10), 10 * 10 * (3 + 0.24), id="a seam is back-stitched"),
        pytest.param(Worked("baste", 10), 10 * 10 * (1 + 0.24), id="basting runs"),
        pytest.param(Worked("ladder_knot", 10, 3), 10 * (2 + 3 * 3), id="round a bundle of 3 mm"),
        pytest.param(Worked("ladder_knot", 10), 10 * (2 + 3 * 2), id="round a usual bundle"),
        pytest.param(Worked("hem_knot", 10), 10 * (4 + 3 * 2), id="catching the hem"),
        pytest.param(Worked("tuck_knot", 10), 10 * (6 + 3 * 2), id="catching both layers"),
        pytest.param(Worked("alternating_knot", 10, 6), 10 * (6 + 6), id="crossing a band of 6 mm"),
        pytest.param(Worked("bias_join", 1, 40), 3 * 40 * math.sqrt(2), id="across a strip on the straight grain"),
    ],
)
def test_thread_of_one_kind_of_work(work: Worked, thread_mm: float) -> None:
    assert plan_thread(ThreadAsk((work,), 8000)).by_operation[0].thread_mm == pytest.approx(thread_mm)


def test_stitches_through_thicker_cloth_take_twice_the_thickness_more() -> None:
    assert thread_ratio(1, 0.5, 0.4) == pytest.approx(1.4)


def test_a_plan_names_its_guesses_once_each() -> None:
    work = (Worked("hem_knot", 10), Worked("hem_knot", 5), Worked("lace", 3), Worked("seam", 3), Worked("closure", 0))

    plan = plan_thread(ThreadAsk(work, 8000))

    assert [finding.code for finding in plan.findings] == ["guesses"]
    assert plan.findings[0].text == (
        "Guesses, not measured: hem knot, lace. Note how much thread the work really used, and the next reckoning is "
        "corrected by it."
    )


def test_knotting_in_mid_air_takes_one_uncut_length_and_leaves_the_needlefuls_alone() -> None:
    plan = plan_thread(ThreadAsk((Worked("pair_knot", 12, 25), Worked("seam", 10)), 8000, needleful_mm=400))

    knotting, seam = plan.by_operation
    assert knotting == ThreadUse("pair_knot", 600, guessed=False, uncut=True)
    assert not seam.uncut
    assert seam.thread_mm == pytest.approx(324)
    assert plan.needlefuls == 1 + 2
    assert plan.working_thread_mm == 600 + 2 * 400
    assert [finding.text for finding in plan.findings] == [
        "The knotting thread runs in one length from end to end of its row: cut 60 cm at once, and use a coarser thread."
    ]


def test_a_knotting_thread_longer_than_the_skein_is_said_so() -> None:
    plan = plan_thread(ThreadAsk((Worked("pair_knot", 200, 25),), 8000))

    assert plan.findings[0].text == (
        "The knotting thread would be 1000 cm in one length, longer than a skein: "
        "wind it from a ball, or plan a join at a seam."
    )


def test_a_short_knotting_thread_and_a_thousand_operations_are_taken() -> None:
    plan = plan_thread(ThreadAsk((Worked("pair_knot", 1, 0.5),) * 1000, 8000))

    assert (plan.needlefuls, plan.working_thread_mm, plan.skeins) == (1000, 1000, 1)


def test_a_skein_used_to_its_end_is_one_skein() -> None:
    exactly = ThreadAsk((Worked("pair_knot", 40, 25),), skein_mm=2000)

    assert plan_thread(exactly).skeins == 1
    assert plan_thread(exactly).findings[0].text.startswith("The knotting thread runs in one length")
    assert plan_thread(replace(exactly, skein_mm=1999)).skeins == 2


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"operations": ()}, "operations"),
        ({"operations": (Worked("seam", 1),) * 1001}, "operations"),
        ({"operations": (Worked("seam", 1), Worked("crochet", 1))}, "operations.1.operation"),
        ({"operations": (Worked("seam", -1),)}, "operations.0.quantity"),
        ({"operations": (Worked("seam", math.nan),)}, "operations.0.quantity"),
        ({"operations": (Worked("seam", 1e7),)}, "operations.0.quantity"),
        ({"operations": (Worked("hem_knot", 1, 0),)}, "operations.0.width_mm"),
        ({"operations": (Worked("hem_knot", 1, math.inf),)}, "operations.0.width_mm"),
        ({"needleful_mm": 451}, "needleful_mm"),
        ({"needleful_mm": 149}, "needleful_mm"),
        ({"needleful_mm": math.nan}, "needleful_mm"),
        ({"skein_mm": 449}, "skein_mm"),
        ({"skein_mm": 1e8}, "skein_mm"),
        ({"correction": 0.09}, "correction"),
        ({"correction": 11}, "correction"),
    ],
)
def test_nonsense_is_refused_at_its_field(change: dict[str, object], field: str) -> None:
    with pytest.raises(Wrong) as refused:
        plan_thread(replace(SEAM, **change))  # type: ignore[arg-type]
    assert refused.value.field == field


@pytest.mark.parametrize(
    ("reckoned", "used", "field"),
    [(0, 10, "reckoned_mm"), (10, 0, "used_mm"), (10, 0.99, "used_mm"), (10, 100.1, "used_mm")],
)
def test_a_correction_off_by_ten_times_is_a_slip_of_the_unit(reckoned: float, used: float, field: str) -> None:
    with pytest.raises(Wrong) as refused:
        used_ratio(reckoned, used)
    assert refused.value.field == field
