"""Paired samples: choices compared on equal luck, with an error bar, until the order is clear."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

# Stop early only when the leader is so many standard errors ahead of every other choice, and not before
# so many samples: looking again and again at a fair coin calls it at three errors about once in a hundred.
CLEAR_ERRORS = 3.0
FEWEST_SAMPLES = 8


@dataclass(frozen=True)
class Comparison:
    """One choice against the leader.

    Attributes:
        mean: Its mean value.
        behind: How far its mean is behind the leader's, 0 for the leader.
        error: Standard error of ``behind`` from paired differences; 0 for the leader, and infinite from
            one sample.
    """

    mean: float
    behind: float
    error: float


def compare(values: NDArray[np.float64]) -> tuple[int, tuple[Comparison, ...]]:
    """Return the leader's index and every choice against it.

    Args:
        values: (samples, choices), one row a sample; at least one sample.
    """
    means = values.mean(axis=0)
    leader = int(means.argmax())
    results = []
    for choice in range(values.shape[1]):
        differences = values[:, leader] - values[:, choice]
        if choice == leader:
            error = 0.0
        elif len(differences) < 2:
            error = float("inf")
        else:
            error = float(differences.std(ddof=1) / np.sqrt(len(differences)))
        results.append(Comparison(float(means[choice]), float(differences.mean()), error))
    return leader, tuple(results)


def sample_until_clear(
    draw: Callable[[int], list[float]], most: int, progress: Callable[[int, int], None] | None
) -> NDArray[np.float64]:
    """Sample until the leader is clear, or as often as allowed.

    Args:
        draw: Returns the value of each choice in a sample, named by its number from 0.
        most: Most samples to take, 1 or more.
        progress: Told samples done and most samples.

    Returns:
        (samples, choices) values.
    """
    rows: list[list[float]] = []
    for sample in range(most):
        rows.append(draw(sample))
        if progress is not None:
            progress(sample + 1, most)
        if clear(np.array(rows)):
            break
    return np.array(rows)


def clear(values: NDArray[np.float64]) -> bool:
    """Return whether the leader is clearly ahead of every other choice."""
    if len(values) < FEWEST_SAMPLES:
        return False
    leader, results = compare(values)
    return all(
        result.behind > CLEAR_ERRORS * result.error
        for choice, result in enumerate(results)
        if choice != leader
    )
