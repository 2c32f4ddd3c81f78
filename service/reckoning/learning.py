"""Learning curves, left out of the hours unless asked for: with few sessions they cannot be told from noise.

Two curves go by the same formula: Wright's (1936) is the cumulative AVERAGE after n units, Crawford's (1944) is the
n-th UNIT. Each function says whose it is. Years from memory.
"""

import math

from service.reckoning.asked import Wrong, above_zero, finite, not_below

PLATEAU = 5  # no credit beyond five times the units already done: a guess


def exponent(rate: float) -> float:
    """Return b of units ** -b; `rate` is what doubling the units leaves of the time, 0.95 for a 95 % curve.

    >>> round(exponent(0.8), 6)
    0.321928
    """
    if not 0 < finite("rate", rate) <= 1:
        raise Wrong("rate", f"must lie above 0 and at most at 1, not {rate:g}")
    return -math.log2(rate)


def crawford_unit(rate: float, first: float, unit: float) -> float:
    """Return the time of the n-th unit when the first takes `first` (Crawford).

    >>> round(crawford_unit(0.8, 300, 5), 1)
    178.7
    """
    return above_zero("first", first) * math.pow(above_zero("unit", unit), -exponent(rate))


def crawford_total(rate: float, first: float, units: int) -> float:
    """Return the time of the first n units together (Crawford)."""
    return math.fsum(crawford_unit(rate, first, unit) for unit in range(1, units + 1))


def wright_average(rate: float, first: float, units: float) -> float:
    """Return the average time of the first n units when the first takes `first` (Wright).

    >>> round(wright_average(0.8, 100, 4), 6)
    64.0
    """
    return crawford_unit(rate, first, units)


def average_factor(rate: float, *, done: float, to_do: float, reference: float) -> float:
    """Return the average time of the next units against that of unit `reference` (Crawford, summed in closed form).

    No credit is given beyond five times the units done. Units are counts of the operation's own unit.

    >>> round(average_factor(0.95, done=200, to_do=300, reference=100), 6)
    0.913719
    """
    b = exponent(rate)
    if b >= 1:
        raise Wrong("rate", "must lie above 0.5: no curve is as steep as that")
    start = not_below("done", done) + 0.5
    credited = above_zero("to_do", to_do)
    if done:
        credited = min(to_do, (PLATEAU - 1) * done)
    end = start + credited
    learned = (math.pow(end, 1 - b) - math.pow(start, 1 - b)) / (1 - b)
    level = math.pow(end, -b) * (to_do - credited)
    return math.pow(above_zero("reference", reference), b) * (learned + level) / to_do
