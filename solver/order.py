"""Orders that are the same on every machine."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

# As answers are rounded: libraries of linear algebra differ in the digits beyond.
DECIMALS = 12


def greatest_first(values: NDArray[np.float64]) -> NDArray[np.intp]:
    """Return the indexes of (n,) values, the greatest first; those alike to twelve decimals as they come."""
    return np.argsort(-np.round(values, DECIMALS), kind="stable")
