"""A slip of the pen: an entry so far from what the log says that it is asked about once, and kept as answered."""

import math
from dataclasses import dataclass

import numpy as np

from service.reckoning.paces import Wanted, expected
from service.reckoning.rates import LoggedWork, Pace, check_logged, ln_seconds_of, noise_of
from service.reckoning.rates_fit import Fit

ASKED_BEYOND = 3.5  # standard deviations of what was to be expected
SHORTEST_NET_MINUTES = 10  # no shorter block is noisier: see `noise_of`


@dataclass(frozen=True, slots=True)
class Slip:
    """An entry to ask about: how far off it is, and the minutes that may have been meant, if a tenth or ten times."""

    surprise: float
    minutes: float
    meant_minutes: float | None


def slip_in(fit: Fit, entry: LoggedWork) -> Slip | None:
    """Return what to ask about an entry, or None when it is as good as any. Raises Wrong when it cannot be right."""
    check_logged(entry, "entry", fit.prior)
    off = _surprise(fit, entry, entry.minutes)
    if abs(off) <= ASKED_BEYOND:
        return None
    meant = entry.minutes / 10 if off > 0 else entry.minutes * 10
    likely = abs(_surprise(fit, entry, meant)) <= ASKED_BEYOND
    return Slip(off, entry.minutes, meant if likely else None)


def fastest_seconds(fit: Fit, entry: LoggedWork) -> float:
    """Return the seconds of one counted unit below which no block of such work is believed, however short it was.

    What `entry` says of its minutes is not looked at.
    """
    mean, spread = _foreseen(fit, entry, SHORTEST_NET_MINUTES)
    return math.exp(mean - ASKED_BEYOND * spread) * entry.units_counted / entry.units


def _surprise(fit: Fit, entry: LoggedWork, minutes: float) -> float:
    """Return by how many standard deviations ln of the pace lies above what the log foresees."""
    net, ln_seconds = ln_seconds_of(fit.prior, minutes, entry.units_counted)
    mean, spread = _foreseen(fit, entry, net)
    return (ln_seconds - mean) / spread


def _foreseen(fit: Fit, entry: LoggedWork, net_minutes: float) -> tuple[float, float]:
    """Return what the log foresees of ln seconds a unit in a block of so many minutes, and its standard deviation."""
    pace = Pace(entry.stitcher, entry.operation, float(entry.threads_per_cm))
    told = expected(fit, [Wanted(pace, entry.garment)])
    noise = float(noise_of(fit.prior, np.array([net_minutes]))[0])
    return float(told.mean[0]), math.sqrt(float(told.covariance[0, 0]) + fit.mean_noise * noise)
