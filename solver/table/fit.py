"""Are the probabilities true? Predicted chances held against simulated play."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

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


@dataclass(frozen=True)
class Tenth:
    """A group of predictions of about the same size.

    Attributes:
        predicted: Their mean.
        realized: Share of them that came true.
        low: Lower end of the 95 % interval of that share.
        high: Upper end.
        count: How many they are.
    """

    predicted: float
    realized: float
    low: float
    high: float
    count: int

    @property
    def miss(self) -> float:
        """How far the mean prediction lies outside the interval; 0 inside."""
        return max(0.0, self.low - self.predicted, self.predicted - self.high)


@dataclass(frozen=True)
class Reliability:
    """How far predictions can be believed.

    Attributes:
        tenths: Groups of equal numbers of predictions, the smallest predictions first.
        brier: Mean squared difference of prediction and outcome.
        base_brier: The same when the share that came true is predicted every time.
        error: Expected calibration error: mean of |realized - predicted| over the groups, by count.
    """

    tenths: tuple[Tenth, ...]
    brier: float
    base_brier: float
    error: float


def brier(predicted: NDArray[np.float64], happened: NDArray[np.bool_]) -> float:
    """Return the mean squared difference of (n,) chances and outcomes (Brier 1950, from memory)."""
    return float(np.mean((predicted - happened) ** 2))


def reliability(predicted: NDArray[np.float64], happened: NDArray[np.bool_], groups: int = 10) -> Reliability:
    """Return the reliability of predictions, in groups of equal numbers (sorted; equal ones in given order).

    Args:
        predicted: (n,) chances in 0-1.
        happened: (n,) whether it came true.
        groups: How many groups, 1 to n.

    Raises:
        ValueError: fewer predictions than groups, or lengths that differ.
    """
    if len(predicted) != len(happened) or not 1 <= groups <= len(predicted):
        raise ValueError(f"{len(predicted)} predictions, {len(happened)} outcomes, {groups} groups")
    tenths = []
    for members in np.array_split(np.argsort(predicted, kind="stable"), groups):
        came = int(happened[members].sum())
        low, high = wilson(came, len(members))
        share = came / len(members)
        tenths.append(Tenth(float(predicted[members].mean()), share, low, high, len(members)))
    error = sum(each.count * abs(each.realized - each.predicted) for each in tenths) / len(predicted)
    base = np.full(len(predicted), happened.mean())
    return Reliability(tuple(tenths), brier(predicted, happened), brier(base, happened), error)
