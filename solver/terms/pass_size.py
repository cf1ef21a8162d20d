"""Exactly so many tiles go; a second copy only with a first. Jokers have no variable, so they stay."""

from __future__ import annotations

from ortools.sat.python import cp_model

from solver.terms.variables import Variables


def add_pass_size(variables: Variables, give: int) -> None:
    """Constrain the pass to ``give`` tiles."""
    bits = variables.bits
    for index, count in enumerate(bits.counts):
        for copy in range(2, count + 1):
            variables.model.add_implication(
                variables.passed[bits.bit(index, copy)], variables.passed[bits.bit(index, copy - 1)]
            )
    variables.model.add(cp_model.LinearExpr.sum(list(variables.passed)) == give)
