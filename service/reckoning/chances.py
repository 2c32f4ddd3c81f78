"""Quantiles that the standard library lacks: of a mixture of Student's t, and of the inverse gamma.

Both by adding up the density on a fine grid; the tests hold them against another library's.
"""

import math
from collections.abc import Sequence

import numpy as np

from service.reckoning.arrays import Array, floats

GRID_POINTS = 4001


def student_quantiles(weights: Array, centres: Array, scales: Array, degrees: Array, chances: Sequence[float]) -> Array:
    """Return the values below which a mixture of Student's t lies with the given chances.

    `weights` add up to 1; each component has a centre, a scale and degrees of freedom.
    """
    middle = float(weights @ centres)
    width = float(np.max(scales + np.abs(centres - middle)))
    step = np.linspace(-6, 6, GRID_POINTS)
    points = middle + width * np.sinh(step)
    z = (points - centres[:, None]) / scales[:, None]
    half = (degrees[:, None] + 1) / 2
    ln_top = np.array([math.lgamma((d + 1) / 2) - math.lgamma(d / 2) - math.log(d * math.pi) / 2 for d in degrees])
    density = np.exp(ln_top[:, None] - half * np.log1p(z**2 / degrees[:, None])) / scales[:, None]
    return _read(points, (weights @ density) * np.cosh(step), chances)


def inverse_gamma_quantiles(shape: float, scale: float, chances: Array) -> Array:
    """Return the variances below which an inverse gamma lies with the given chances."""
    width = 1 / math.sqrt(shape)
    ln_points = math.log(shape) + width * np.linspace(-16, 10, GRID_POINTS)
    ln_density = shape * ln_points - np.exp(ln_points)
    precision = np.exp(_read(ln_points, np.exp(ln_density - ln_density.max()), 1 - chances))
    return floats(scale / precision)


def _read(points: Array, density: Array, chances: Sequence[float] | Array) -> Array:
    """Add up a density given at even steps (trapezium, end-corrected) and read off the points."""
    slope = np.gradient(density)
    pieces = (density[1:] + density[:-1]) / 2 - (slope[1:] - slope[:-1]) / 12
    below = np.concatenate([[0.0], np.cumsum(pieces)])
    return np.interp(chances, np.maximum.accumulate(below) / below[-1], points)
