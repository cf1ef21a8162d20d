"""Cuts that rule out passes: one found already, or pairs of bits that a bound shows to be hopeless."""

from __future__ import annotations

from collections.abc import Iterable

from ortools.sat.python import cp_model

from solver.terms.variables import Variables


def exclude_pass(variables: Variables, mask: int) -> None:
    """Rule out one pass. All passes have equally many bits, so one of its bits must be missing."""
    chosen = [boolean for bit, boolean in enumerate(variables.passed) if mask >> bit & 1]
    if chosen:
        variables.model.add_bool_or([boolean.Not() for boolean in chosen])
    else:
        variables.model.add(cp_model.LinearExpr.sum(list(variables.passed)) >= 1)


def exclude_bits(variables: Variables, mask: int) -> None:
    """Rule out every pass that touches one of these bits."""
    for bit, boolean in enumerate(variables.passed):
        if mask >> bit & 1:
            variables.model.add(boolean == 0)


def exclude_pairs(variables: Variables, pairs: Iterable[tuple[int, int]]) -> None:
    """Rule out every pass with both bits of a pair."""
    for first, second in pairs:
        variables.model.add_bool_or([variables.passed[first].Not(), variables.passed[second].Not()])
