"""Hours to quote: joint draws, shares that add up, the golden alteration."""

import numpy as np
import pytest

from service.reckoning.asked import Wrong
from service.reckoning.draws import draw
from service.reckoning.forecast import drawn_hours
from service.reckoning.hours import Line, Stretch
from service.reckoning.quoting import hours_changed, hours_to_quote, with_more
from service.reckoning.rates_fit import fit
from tests.reckoning.golden_log import GARMENT, LOG, stretches

TOLD = draw(fit(LOG), ["P1"])
REST = (("ladder_knot", 324), ("pair_knot", 96), ("whip_bias", 230), ("press", 4))


def test_the_golden_garment_is_quoted_at_two_thirds() -> None:
    """Golden case 9: likely 14.016, quoted 14.893, worst planned 17.352 hours, at 24 threads per cm by Ada."""
    found = hours_to_quote(TOLD, {1: stretches(GARMENT, "Ada", threads_per_cm=24)}, 2 / 3)
    assert found.likely == pytest.approx(14.016, rel=0.03)
    assert found.quoted == pytest.approx(14.893, rel=0.05)
    assert found.worst == pytest.approx(17.352, rel=0.05)
    assert found.shares == {1: pytest.approx(found.quoted)}


def test_garments_are_quoted_together_and_their_shares_add_up() -> None:
    work = {1: stretches(GARMENT, "Ada"), 2: stretches(REST, "Bea"), 3: []}
    found = hours_to_quote(TOLD, work, 0.8, kappa=1.2)
    assert sum(found.shares.values()) == pytest.approx(found.quoted)
    assert found.shares[3] == 0
    apart = sum(hours_to_quote(TOLD, {number: each}, 0.8, kappa=1.2).quoted for number, each in work.items())
    assert found.likely < found.quoted < apart
    hours = sum(drawn_hours(TOLD, each).sum(axis=0) for each in work.values() if each)
    assert found.likely == pytest.approx(float(np.median(hours)))


def test_a_wider_record_asks_for_more_hours_at_the_same_chance_and_leaves_the_likely_ones() -> None:
    plain, wide = (hours_to_quote(TOLD, {1: stretches(GARMENT, "Ada")}, 0.8, kappa) for kappa in (1.0, 1.5))
    assert wide.likely == pytest.approx(plain.likely)
    assert wide.quoted > plain.quoted
    assert wide.worst > plain.worst


def test_work_that_is_done_costs_no_hours() -> None:
    found = hours_to_quote(TOLD, {1: [], 2: []}, 0.8)
    assert (found.likely, found.quoted, found.worst, found.shares) == (0, 0, 0, {1: 0, 2: 0})


@pytest.mark.parametrize("chance", [0.4, 0.95, float("nan")])
def test_a_chance_that_nobody_quotes_at_is_refused(chance: float) -> None:
    with pytest.raises(Wrong, match="chance"):
        hours_to_quote(TOLD, {1: stretches(GARMENT, "Ada")}, chance)


def test_the_golden_alteration_is_the_difference_on_the_same_draws() -> None:
    """After 500 of 824 knots: 300 knots more and 80 cm of bias less, 6.292 h before and 7.530 h after at two thirds."""
    before = stretches(REST, "Ada", threads_per_cm=24)
    after = with_more(before, [Line("ladder_knot", 300, 24), Line("whip_bias", -80)])
    found = hours_changed(TOLD, {1: before}, {1: after}, 2 / 3)
    assert found.before == pytest.approx(6.292, rel=0.05)
    assert found.after == pytest.approx(7.530, rel=0.05)
    same = hours_changed(TOLD, {1: before}, {1: with_more(before, [])}, 2 / 3)
    assert same.before == same.after


def test_more_goes_to_the_line_there_is_and_less_is_taken_in_turn() -> None:
    left = [Stretch("1 a", (Line("seam", 10.0), Line("press", 1.0))), Stretch("1 b", (Line("seam", 5.0),))]
    changed = with_more(left, [Line("seam", -12.0), Line("press", 2.0), Line("lace", 30.0)])
    amounts = [(line.operation, line.quantity) for each in changed for line in each.lines]
    assert amounts == [("seam", 0.0), ("press", 3.0), ("lace", 30.0), ("seam", 3.0)]
    with pytest.raises(Wrong, match="more are taken away"):
        with_more(left, [Line("seam", -15.5)])
    with pytest.raises(Wrong, match="no garment"):
        with_more([], [Line("seam", 1.0)])
