"""Intervals for shares and for differences of paired results."""

from __future__ import annotations

from math import sqrt

# The 97.5 % point of the normal distribution.
Z95 = 1.959963984540054


def wilson(successes: int, trials: int) -> tuple[float, float]:
    """Return the 95 % score interval of a share (Wilson 1927, from memory).

    Args:
        successes: 0 to ``trials``.
        trials: 1 or more.

    Raises:
        ValueError: no such share.
    """
    if not 0 <= successes <= trials or trials < 1:
        raise ValueError(f"{successes} of {trials} is no share")
    share, spread = successes / trials, Z95**2 / trials
    middle = (share + spread / 2) / (1 + spread)
    half = Z95 / (1 + spread) * sqrt(share * (1 - share) / trials + spread / (4 * trials))
    # With none or all the bound is exact; rounding would leave it a hair off.
    return (middle - half if successes else 0.0), (middle + half if successes < trials else 1.0)
