"""How long play lasts, found from games: shares of lengths that make predictions come true."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

_SMALLEST = 1e-12


def fit_shares(
    chances: NDArray[np.float64], happened: NDArray[np.bool_], steps: int = 4_000, tolerance: float = 1e-9
) -> NDArray[np.float64]:
    """Return the shares of lengths under which the outcomes are likeliest (EM for a mixture's shares).

    Source of the method: Dempster, Laird, Rubin (1977), Maximum Likelihood from Incomplete Data via the EM
    Algorithm; from memory. The likelihood is concave in the shares, so the start does not matter.

    Args:
        chances: (n, lengths) chance of each outcome under each length.
        happened: (n,) whether it came true.
        steps: Most steps taken.
        tolerance: Stop when no share moves by more than this.

    Returns:
        (lengths,) shares, 0 or more, that sum to 1.
    """
    likely = np.where(happened[:, None], chances, 1 - chances)
    shares = np.full(chances.shape[1], 1 / chances.shape[1])
    for _ in range(steps):
        weights = shares * likely
        weights /= np.maximum(weights.sum(axis=1, keepdims=True), _SMALLEST)
        found = weights.mean(axis=0)
        moved = np.abs(found - shares).max()
        shares = found
        if moved < tolerance:
            break
    fitted: NDArray[np.float64] = shares / shares.sum()
    return fitted
