"""Arrays of floats, the one kind that hours and paces are reckoned in."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def floats(values: ArrayLike) -> Array:
    """Return the values as an array of floats.

    >>> floats([1, 2]).dtype.name
    'float64'
    """
    return np.asarray(values, dtype=np.float64)
