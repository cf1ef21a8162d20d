"""Binomial coefficients as correctly rounded floats, zero outside 0 <= k <= n."""

from __future__ import annotations

from math import comb

import numpy as np
from numpy.typing import NDArray

from patterns.tiles import SET_SIZE

_TABLE = np.array([[float(comb(n, k)) for k in range(SET_SIZE + 1)] for n in range(SET_SIZE + 1)])


def binomial(n: NDArray[np.int64] | int, k: NDArray[np.int64] | int) -> NDArray[np.float64]:
    """Return C(n, k) elementwise for n up to 152; 0 where n or k is negative or k exceeds n.

    The largest product formed from these stays below 1e160, far inside the range of a float.
    """
    n, k = np.asarray(n), np.asarray(k)
    inside = (n >= 0) & (k >= 0)
    values: NDArray[np.float64] = np.where(
        inside, _TABLE[np.where(inside, n, 0), np.where(inside, k, 0)], 0.0
    )
    return values
