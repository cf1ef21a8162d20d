"""The objective: weighted expected hands above the floors, then a fixed order among equal passes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from ortools.sat.python import cp_model

from solver.options import Options
from solver.rack_bits import RackBits
from solver.terms.variables import Variables

# Sums of up to three of these, repeats allowed, are all different (a B3 sequence; a test checks it). One
# a kind held, so among passes of equal worth exactly one has the smallest sum.
ORDER_WEIGHTS = (1, 2, 5, 14, 33, 72, 125, 219, 376, 573, 745, 1209, 1557, 2442)
ORDER_SPAN = 8192
_FINEST = 1e-9
_LARGEST = 2.0**52


@dataclass(frozen=True, eq=False)
class Scale:
    """Integer coefficients of the objective.

    Attributes:
        unit: Expected hands that one unit of worth stands for.
        worth: (n,) worth of each option above its hand's floor, in units.
    """

    unit: float
    worth: NDArray[np.int64]

    @classmethod
    def of(cls, options: Options, weights: NDArray[np.float64]) -> Scale:
        """Choose the finest unit, 1e-9 hands or a power of ten above, that keeps sums below 2**52."""
        gains = weights[options.hand] * (options.reach - options.floor[options.hand])
        unit = _FINEST
        while gains.sum() / unit * ORDER_SPAN >= _LARGEST:
            unit *= 10
        return cls(unit, np.rint(gains / unit).astype(np.int64))


def order_of(bits: RackBits) -> list[int]:
    """Return the order weight of each bit; of passes of equal worth the one with the smallest sum is best."""
    return [ORDER_WEIGHTS[index] for index, count in enumerate(bits.counts) for _ in range(count)]


def add_objective(variables: Variables, scale: Scale) -> None:
    """Maximise worth first; then, among equals, the smallest sum of order weights."""
    order = [-weight for weight in order_of(variables.bits)]
    worth = (scale.worth * ORDER_SPAN).tolist()
    variables.model.maximize(
        cp_model.LinearExpr.weighted_sum([*variables.passed, *variables.chosen], [*order, *worth])
    )


def units_of(objective: float) -> int:
    """Return the worth, in units, of an objective value or bound."""
    return -(-round(objective) // ORDER_SPAN)
