"""Where an axis has its ticks: round numbers from nothing to above the most."""

from __future__ import annotations

import math

_TIME_STEPS = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1_800, 3_600, 7_200, 18_000, 36_000)
_MOST_TICKS = 6
_MOST_LABELS = 20


def time_ticks(most: float) -> list[float]:
    """Return ticks in seconds, from 0 to at least ``most`` (0 or more), at round times."""
    step = next((step for step in _TIME_STEPS if most <= step * _MOST_TICKS), None)
    return _ticks(most, _round_step(most) if step is None else step)


def hand_ticks(most: float) -> list[float]:
    """Return ticks in expected hands, from 0 to at least ``most`` (0 or more), thousandths or coarser."""
    return _ticks(most, max(0.001, _round_step(most)))


def index_ticks(count: int) -> range:
    """Return the indices to label of so many rows, at most twenty."""
    return range(0, count, math.ceil(count / _MOST_LABELS))


def _round_step(most: float) -> float:
    """Return 1, 2 or 5 times a power of ten, of which at most six reach ``most``."""
    if most <= 0:
        return 0.0
    power = 10.0 ** math.floor(math.log10(most / _MOST_TICKS))
    return next(power * times for times in (1, 2, 5, 10, 20) if most <= power * times * _MOST_TICKS)


def _ticks(most: float, step: float) -> list[float]:
    return [step * index for index in range(max(1, math.ceil(most / step - 1e-9)) + 1)]
