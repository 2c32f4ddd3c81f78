"""The fit: golden cases, references worked out another way, and what must hold for any log.

Golden values: worked out beforehand from the formulas in the modules' docstrings, with another program.
"""

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from service.reckoning.asked import Wrong
from service.reckoning.chances import inverse_gamma_quantiles, student_quantiles
from service.reckoning.draws import draw
from service.reckoning.paces import Wanted, expected, pace_quantiles, pace_range
from service.reckoning.rates import (
    MOST_BLOCKS,
    Guess,
    LoggedWork,
    Pace,
    Prior,
    Spreads,
    Term,
    day_blocks,
    ln_guess,
    terms_of,
)
from service.reckoning.rates_fit import GRID, Fit, fit, spread_of
from service.reckoning.slips import fastest_seconds, slip_in
from tests.reckoning.golden_log import CORRECTED, FIRST_DAY, LOG, REMOVED

ADA_LADDER = Pace("Ada", "ladder_knot", 20.0)
ADA_HEM = Pace("Ada", "hem_knot", 20.0)


@pytest.fixture(scope="module")
def golden() -> Fit:
    return fit(LOG)


@pytest.mark.parametrize(
    ("stitcher", "operation", "threads_per_cm", "p10", "p50", "p90"),
    [
        pytest.param("Ada", "ladder_knot", 20, 18.29, 20.84, 23.95, id="golden case 5: Ada at 20"),
        pytest.param("Ada", "ladder_knot", 28, 20.91, 24.15, 27.94, id="golden case 5: Ada at 28"),
        pytest.param("Bea", "ladder_knot", 20, 23.20, 28.66, 34.13, id="golden case 5: Bea at 20"),
        pytest.param("Dora", "ladder_knot", 20, 16.45, 22.78, 31.46, id="golden case 5: Dora, no history"),
        pytest.param("Ada", "alternating_knot", 20, 16.63, 27.94, 46.93, id="golden case 5: never logged"),
    ],
)
def test_paces_of_the_golden_log(
    golden: Fit, stitcher: str, operation: str, threads_per_cm: float, p10: float, p50: float, p90: float
) -> None:
    pace = pace_range(golden, Pace(stitcher, operation, float(threads_per_cm)))
    assert (pace.p10, pace.p50, pace.p90) == pytest.approx((p10, p50, p90), rel=1e-3)


def test_the_noise_of_the_golden_log(golden: Fit) -> None:
    assert golden.mean_noise == pytest.approx(0.01375, rel=1e-3)


@pytest.mark.parametrize(
    ("log", "seconds"),
    [
        pytest.param(LOG, 24.63, id="golden case 8: 450 minutes typed for 45"),
        pytest.param(CORRECTED, 23.35, id="golden case 8: corrected"),
        pytest.param(REMOVED, 24.13, id="golden case 8: removed"),
    ],
)
def test_a_slip_moves_the_pace_but_little(log: Sequence[LoggedWork], seconds: float) -> None:
    assert pace_range(fit(log), ADA_HEM).p50 == pytest.approx(seconds, rel=1e-3)


def test_a_slip_is_weighted_down_and_all_others_are_not(golden: Fit) -> None:
    assert golden.blocks[-1].day == FIRST_DAY + timedelta(10)
    assert golden.block_weights[-1] == pytest.approx(0.009, abs=5e-4)
    assert np.all(golden.block_weights[:-1] == 1)


def _cut_in_two(second_day: int) -> list[LoggedWork]:
    whole = next(each for each in LOG if each.units == 180)
    others = [each for each in LOG if each is not whole]
    later = FIRST_DAY + timedelta(second_day)
    return [*others, replace(whole, units=80, minutes=30), replace(whole, units=100, minutes=36, day=later)]


def test_an_entry_cut_in_two_on_one_day_changes_nothing(golden: Fit) -> None:
    # golden case 7
    assert pace_range(fit(_cut_in_two(3)), ADA_LADDER).p50 == pytest.approx(
        pace_range(golden, ADA_LADDER).p50, rel=1e-12
    )


def test_an_entry_cut_in_two_over_two_days_tells_a_little_more() -> None:
    # golden case 7: the day of the second half was not stated; any day without ladder knots gives the same
    assert pace_range(fit(_cut_in_two(30)), ADA_LADDER).p50 == pytest.approx(20.469, rel=1e-3)


def test_without_a_log_the_pace_is_the_guess_and_nine_tenths_lie_within_a_factor_of_two_and_a_half() -> None:
    p05, p50, p95 = pace_quantiles(fit(()), [ADA_LADDER], [1.0], (0.05, 0.5, 0.95))
    assert p50 == pytest.approx(20, rel=1e-9)
    assert (p95 / p50, p50 / p05) == pytest.approx((2.5, 2.5), abs=0.2)


def test_one_rate_agrees_with_the_formula_by_hand_and_with_scipys_t() -> None:
    """One stitcher, one operation, one day's blocks: a normal-inverse-gamma with one unknown has a closed form."""
    spread = 0.7
    spreads = Spreads(
        studio=1e-7, fineness=1e-7, operation=spread, stitcher=1e-7, stitcher_operation=1e-7, garment=1e-7
    )
    prior = Prior(guesses={"hem_knot": Guess(22, 1)}, spreads=spreads, setup_minutes=0)
    log = [replace(LOG[2], day=FIRST_DAY + timedelta(n), minutes=m, units=120) for n, m in enumerate((50, 56, 61))]
    known = fit(log, prior)
    precisions = [1 / (0.5 + 0.5 * 60 / m) for m in (50, 56, 61)]
    deviations = [math.log(60 * m / 120) - math.log(22) for m in (50, 56, 61)]
    held = known.settled_noise / spread**2
    told = held + sum(precisions)
    mean = sum(p * d for p, d in zip(precisions, deviations, strict=True)) / told
    shape = 4 + 3 / 2
    squares = sum(p * (d - mean) ** 2 for p, d in zip(precisions, deviations, strict=True)) + held * mean**2
    scale = 0.04 * 3 + squares / 2
    assert known.settled_noise == pytest.approx(scale / (shape - 1), rel=1e-8)
    chances = (0.05, 0.1, 0.5, 0.9, 0.95)
    t = stats.t(2 * shape, loc=math.log(22) + mean, scale=math.sqrt(scale / shape / told))
    ours = [math.log(each) for each in pace_quantiles(known, [ADA_HEM], [1.0], chances)]
    assert ours == pytest.approx(t.ppf(chances), abs=1e-6)


def test_the_t_is_the_normal_averaged_over_its_noise() -> None:
    """Quadrature over the variance, by scipy, gives the chances that the quantiles were asked for."""
    shape, scale, centre, information = 7.5, 0.11, 3.1, 4.2
    chances = (0.1, 0.5, 0.8, 0.95)
    found = student_quantiles(
        np.ones(1),
        np.array([centre]),
        np.array([math.sqrt(scale / shape / information)]),
        np.array([2 * shape]),
        chances,
    )
    noise = stats.invgamma(shape, scale=scale)
    for quantile, chance in zip(found, chances, strict=True):

        def below(variance: float, at: float = float(quantile)) -> float:
            return float(noise.pdf(variance) * stats.norm.cdf(at, centre, math.sqrt(variance / information)))

        assert integrate.quad(below, 0, 1, epsabs=1e-12, limit=200)[0] == pytest.approx(chance, abs=1e-6)


def test_a_mixture_of_ts_holds_the_chances_that_scipy_gives_it() -> None:
    weights, centres, scales = np.array([0.2, 0.5, 0.3]), np.array([0.0, 1.0, -2.0]), np.array([0.3, 1.0, 0.1])
    degrees = np.array([8.0, 20.0, 60.0])
    chances = (0.01, 0.1, 0.5, 0.9, 0.99)
    found = student_quantiles(weights, centres, scales, degrees, chances)
    below = [float(weights @ stats.t.cdf(each, degrees, centres, scales)) for each in found]
    assert below == pytest.approx(chances, abs=2e-5)  # far apart and unlike in width: a coarse case for the grid


@pytest.mark.parametrize("shape", [4.0, 16.0, 750.0])
def test_inverse_gamma_quantiles_agree_with_scipy(shape: float) -> None:
    chances = np.array([0.001, 0.1, 0.5, 0.9, 0.999])
    expected_ = stats.invgamma(shape, scale=3.0).ppf(chances)
    assert inverse_gamma_quantiles(shape, 3.0, chances) == pytest.approx(expected_, rel=2e-5)


def _dense(log: Sequence[LoggedWork], known: Fit, point: int) -> tuple[dict[Term, int], np.ndarray, np.ndarray]:
    """Solve the whole system, garments and all, as one dense matrix: slow, plain, and another way."""
    prior = known.prior
    blocks = day_blocks(log, prior)
    named = [dict(terms_of(prior, each.pace)) | {Term("garment", each.garment): 1.0} for each in blocks]
    terms = sorted({term for each in named for term in each})
    place = {term: n for n, term in enumerate(terms)}
    x = np.zeros((len(blocks), len(terms)))
    for row, each in enumerate(named):
        x[row, [place[term] for term in each]] = list(each.values())
    y = np.array([each.ln_seconds - ln_guess(prior, each.pace) for each in blocks])
    w = known.block_weights / np.array([0.5 + 30 / max(each.net_minutes, 10) for each in blocks])
    held = np.array([known.settled_noise / spread_of(prior, term.kind)[point] ** 2 for term in terms])
    information = np.diag(held) + x.T @ (w[:, None] * x)
    return place, np.linalg.solve(information, x.T @ (w * y)), np.linalg.inv(information)


@pytest.mark.parametrize("point", [0, 4, 8])
def test_leaving_the_garments_out_of_the_matrix_changes_no_answer(golden: Fit, point: int) -> None:
    place, mean, variance = _dense(LOG, golden, point)
    assert golden.core_mean[point] == pytest.approx([mean[place[term]] for term in golden.core], abs=1e-10)
    for name, column in golden.garments.items():
        assert golden.garment_mean[point, column] == pytest.approx(mean[place[Term("garment", name)]], abs=1e-10)
    row = np.zeros(len(place))
    row[[place[term] for term, _ in terms_of(golden.prior, ADA_LADDER)]] = [
        a for _, a in terms_of(golden.prior, ADA_LADDER)
    ]
    row[place[Term("garment", "P1")]] = 1
    told = expected(golden, [Wanted(ADA_LADDER, "P1")])
    assert told.variances[point, 0, 0] == pytest.approx(row @ variance @ row, rel=1e-9)
    assert told.centres[point, 0] == pytest.approx(math.log(20) + row @ mean, rel=1e-12)


def test_the_evidence_of_a_grid_point_is_that_of_the_blocks_under_its_t(golden: Fit) -> None:
    """The blocks' joint density is a multivariate t (scipy): its ratio between grid points weighs them."""
    blocks, prior = golden.blocks, golden.prior
    ln_density = []
    for point in range(len(GRID)):
        covariance = np.diag([0.5 + 30 / max(b.net_minutes, 10) for b in blocks]) / golden.block_weights
        for term_of_block in ("core", "garment"):
            for i, one in enumerate(blocks):
                for j, other in enumerate(blocks):
                    mine, theirs = dict(terms_of(prior, one.pace)), dict(terms_of(prior, other.pace))
                    if term_of_block == "garment":
                        mine, theirs = {Term("garment", one.garment): 1.0}, {Term("garment", other.garment): 1.0}
                    for term in mine.keys() & theirs.keys():
                        variance = spread_of(prior, term.kind)[point] ** 2 / golden.settled_noise
                        covariance[i, j] += variance * mine[term] * theirs[term]
        y = [b.ln_seconds - ln_guess(prior, b.pace) for b in blocks]
        # the weights count as so many blocks: the shape is that of the fit
        _, ln_det = np.linalg.slogdet(covariance)
        squares = float(np.array(y) @ np.linalg.solve(covariance, y))
        ln_density.append(-ln_det / 2 - golden.shape * math.log(0.12 + squares / 2))
    raised = np.array([a * b for a in (0.25, 0.5, 0.25) for b in (0.25, 0.5, 0.25)]) * np.exp(
        np.array(ln_density) - max(ln_density)
    )
    assert golden.weights == pytest.approx(raised / raised.sum(), rel=1e-8)


def test_the_joint_draws_have_the_mean_and_covariance_of_the_closed_form(golden: Fit) -> None:
    drawn = draw(golden, ["P1"], draws=20_000)
    wanted = [
        Wanted(ADA_LADDER, "P1"),
        Wanted(Pace("Bea", "mark", 20.0), "new"),
        Wanted(Pace("Dora", "lace", 20.0), "P1"),
    ]
    told = expected(golden, wanted)
    ln_rates = np.stack(
        [
            ln_guess(golden.prior, each.pace)
            + sum(a * drawn.value(term) for term, a in terms_of(golden.prior, each.pace))
            + drawn.value(Term("garment", str(each.garment)))
            for each in wanted
        ]
    )
    assert ln_rates.mean(axis=1) == pytest.approx(told.mean, abs=0.004)
    assert np.cov(ln_rates) == pytest.approx(told.covariance, abs=0.004)


def test_sixty_sessions_of_thirty_seconds_teach_thirty_seconds() -> None:
    log = [LoggedWork(FIRST_DAY + timedelta(n), "Ada", "hem_knot", 20.0, f"P{n // 6}", 100.0, 54.0) for n in range(60)]
    assert pace_range(fit(log), ADA_HEM).p50 == pytest.approx(30, rel=0.05)


def test_a_slower_session_makes_that_stitcher_slower_and_others_less_so() -> None:
    bea_hem = Pace("Bea", "hem_knot", 20.0)
    before, slower = fit(CORRECTED), [replace(each, minutes=72.0) if each.minutes == 64 else each for each in CORRECTED]
    after = fit(slower)
    hers = math.log(pace_range(after, ADA_HEM).p50 / pace_range(before, ADA_HEM).p50)
    others = math.log(pace_range(after, bea_hem).p50 / pace_range(before, bea_hem).p50)
    assert hers > others > 0


def test_a_log_narrows_what_the_guesses_leave_open(golden: Fit) -> None:
    bare, told = pace_range(fit(()), ADA_LADDER), pace_range(golden, ADA_LADDER)
    assert told.p90 / told.p10 < bare.p90 / bare.p10


def test_somebody_without_history_has_the_widest_range(golden: Fit) -> None:
    widths = {
        name: pace_range(golden, ADA_LADDER._replace(stitcher=name)).p90
        / pace_range(golden, ADA_LADDER._replace(stitcher=name)).p10
        for name in ("Ada", "Bea", "Cleo", "Dora")
    }
    assert max(widths, key=lambda name: widths[name]) == "Dora"


@settings(max_examples=20, deadline=None)
@given(st.permutations(LOG))
def test_the_order_of_the_log_changes_no_bit(log: list[LoggedWork]) -> None:
    first, second = fit(LOG), fit(log)
    assert np.array_equal(first.core_mean, second.core_mean)
    assert np.array_equal(first.core_variance, second.core_variance)
    assert np.array_equal(first.weights, second.weights)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(
        st.builds(
            LoggedWork,
            st.dates(FIRST_DAY, FIRST_DAY + timedelta(400)),
            st.sampled_from(["Ada", "Bea", "Cleo"]),
            st.sampled_from(["hem_knot", "clip", "withdraw", "press"]),
            st.floats(1, 400),
            st.sampled_from(["P1", "P2", "P3"]),
            st.floats(1e-3, 1e6),
            st.floats(1e-3, 1440),
            st.one_of(st.none(), st.floats(1, 1e5)),
        ),
        max_size=60,
    )
)
def test_any_log_gives_finite_paces_in_order(log: list[LoggedWork]) -> None:
    known = fit(log)
    pace = pace_range(known, ADA_LADDER)
    assert 0 < pace.p10 < pace.p50 < pace.p90 < math.inf
    assert known.weights.sum() == pytest.approx(1)
    assert np.all((known.block_weights > 0) & (known.block_weights <= 1))


def test_only_the_newest_five_thousand_day_blocks_are_looked_at() -> None:
    log = [replace(LOG[2], day=FIRST_DAY + timedelta(n)) for n in range(MOST_BLOCKS + 7)]
    blocks = day_blocks(log, Prior())
    assert (len(blocks), blocks[0].day) == (MOST_BLOCKS, FIRST_DAY + timedelta(7))


def test_threads_withdrawn_count_by_their_length() -> None:
    short = [replace(each, thread_length_mm=250.0) if each.operation == "withdraw" else each for each in LOG]
    long = [
        replace(each, thread_length_mm=500.0, units=each.units / 2) if each.operation == "withdraw" else each
        for each in LOG
    ]
    assert np.array_equal(fit(short).core_mean, fit(LOG).core_mean)
    assert np.array_equal(fit(long).core_mean, fit(LOG).core_mean)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"minutes": 5000.0}, "log.0.minutes"),
        ({"minutes": 0.0}, "log.0.minutes"),
        ({"minutes": math.nan}, "log.0.minutes"),
        ({"units": -3.0}, "log.0.units"),
        ({"threads_per_cm": 0.0}, "log.0.threads_per_cm"),
        ({"operation": "knitting"}, "log.0.operation"),
        ({"stitcher": ""}, "log.0.stitcher"),
        ({"garment": ""}, "log.0.garment"),
        ({"day": "Monday"}, "log.0.day"),
        ({"thread_length_mm": -1.0}, "log.0.thread_length_mm"),
    ],
    ids=str,
)
def test_an_entry_that_cannot_be_right_is_refused_at_its_field(change: dict[str, object], field: str) -> None:
    with pytest.raises(Wrong) as refused:
        fit([replace(LOG[0], **change)])  # type: ignore[arg-type]
    assert refused.value.field == field


def test_ten_times_the_minutes_is_asked_about_with_what_may_have_been_meant() -> None:
    slip = slip_in(fit(REMOVED), LOG[11])
    assert slip is not None
    assert (slip.minutes, slip.meant_minutes) == (450, 45)
    assert slip.surprise > 3.5


def test_a_tenth_of_the_minutes_is_asked_about_too() -> None:
    slip = slip_in(fit(REMOVED), replace(LOG[11], minutes=4.5))
    assert slip is not None
    assert slip.meant_minutes == 45


def test_minutes_that_no_slip_of_a_digit_explains_are_asked_about_without_a_proposal() -> None:
    slip = slip_in(fit(REMOVED), replace(LOG[11], minutes=1440.0, units=1.0))
    assert slip is not None
    assert slip.meant_minutes is None


def test_an_ordinary_entry_is_not_asked_about() -> None:
    assert slip_in(fit(REMOVED), replace(LOG[11], minutes=52.0)) is None


def test_no_block_is_believed_to_be_faster_than_what_is_asked_about() -> None:
    entry = replace(LOG[11], units=300.0)
    least_minutes = fastest_seconds(fit(REMOVED), entry) * entry.units / 60
    net = replace(entry, minutes=least_minutes / 2)
    assert slip_in(fit(REMOVED), net) is not None
    assert slip_in(fit(REMOVED), replace(entry, minutes=least_minutes * 2)) is None
    by_thread = replace(entry, operation="withdraw", thread_length_mm=500.0)
    half = fastest_seconds(fit(REMOVED), replace(by_thread, thread_length_mm=250.0))
    assert fastest_seconds(fit(REMOVED), by_thread) == pytest.approx(2 * half)


def test_a_log_of_more_people_than_can_be_told_apart_keeps_the_newest() -> None:
    log = [replace(LOG[2], day=FIRST_DAY + timedelta(n), stitcher=f"S{n}") for n in range(3000)]
    blocks = day_blocks(log, Prior())
    assert len(blocks) == 199  # one operation, and for each stitcher one term and one with the operation
    assert blocks[-1].pace.stitcher == "S2999"
    assert pace_range(fit(log), ADA_HEM).p50 > 0


def test_a_log_of_more_garments_than_can_be_told_apart_keeps_the_newest() -> None:
    log = [replace(LOG[2], day=FIRST_DAY + timedelta(n), garment=f"P{n}") for n in range(3000)]
    assert len(day_blocks(log, Prior())) == 1000
