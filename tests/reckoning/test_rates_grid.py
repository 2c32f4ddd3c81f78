"""The nine combinations of spreads against a fine grid of them, and every session of the log made slower in turn."""

import math
from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest

from service.reckoning import rates_fit
from service.reckoning.chances import student_quantiles
from service.reckoning.paces import pace_quantiles, pace_range
from service.reckoning.rates import Pace, Prior, day_blocks, ln_guess, terms_of
from service.reckoning.rates_fit import fit
from tests.reckoning.golden_log import CORRECTED, LOG

CHANCES = (0.05, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 0.9, 0.95)
FINE = 41
SPREAD = math.sqrt(0.5)  # of log2 of a spread: that of 1/2, 1, 2 with the weights 1/4, 1/2, 1/4
LOGGED = [Pace("Ada", "ladder_knot", 20.0), Pace("Bea", "hem_knot", 20.0), Pace("Cleo", "withdraw", 14.0)]


def test_nine_combinations_of_spreads_tell_what_1681_tell() -> None:
    """Worst 0.03 in ln seconds at any of nine quantiles: stated when the model was drawn up."""
    prior = Prior()
    sheet = rates_fit._sheet(day_blocks(LOG, prior), prior)
    settled, weights = rates_fit._settle(sheet, prior)
    steps = np.linspace(-2.5 * SPREAD, 2.5 * SPREAD, FINE)
    grid = tuple((2.0**a, 2.0**b) for a in steps for b in steps)
    chance = np.array([NormalDist(0, SPREAD).pdf(step) for step in steps])
    solved = rates_fit._solve(sheet, prior, grid, settled, weights)
    raised = np.outer(chance, chance).ravel() * np.exp(solved.ln_evidence - solved.ln_evidence.max())
    freedom, known = np.full(len(grid), 2 * solved.shape), fit(LOG)
    for pace in LOGGED:
        row = np.zeros(len(sheet.core))
        for term, amount in terms_of(prior, pace):
            row[sheet.core[term]] = amount
        centres = ln_guess(prior, pace) + solved.core_mean @ row
        scales = np.sqrt(solved.scale / solved.shape * np.einsum("k,gkl,l->g", row, solved.core_variance, row))
        fine = student_quantiles(raised / raised.sum(), centres, scales, freedom, CHANCES)
        assert np.log(pace_quantiles(known, [pace], [1.0], CHANCES)) == pytest.approx(fine, abs=0.03)


@pytest.mark.parametrize("place", range(len(CORRECTED)))
def test_no_slower_session_makes_its_stitcher_quicker_at_it(place: int) -> None:
    entry = CORRECTED[place]
    slower = [replace(each, minutes=each.minutes * 1.1) if each is entry else each for each in CORRECTED]
    pace = Pace(entry.stitcher, entry.operation, entry.threads_per_cm)
    assert pace_range(fit(slower), pace).p50 > pace_range(fit(CORRECTED), pace).p50


def test_two_bells_far_apart_are_read_each_at_its_own_middle() -> None:
    """Half lie about -10 and half about 10, both with spread 1: a quarter lies below -10, three quarters below 10."""
    halves, tens, ones = (np.array(pair) for pair in ([0.5, 0.5], [-10.0, 10.0], [1.0, 1.0]))
    assert student_quantiles(halves, tens, ones, 30 * ones, (0.25, 0.75)) == pytest.approx([-10, 10], abs=1e-5)
