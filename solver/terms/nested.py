"""What goes by one round has gone by the next."""

from __future__ import annotations

from solver.terms.variables import Variables


def add_nested(earlier: Variables, later: Variables) -> None:
    """Let every tile that is gone after one round stay gone after the next."""
    for before, after in zip(earlier.passed, later.passed, strict=True):
        later.model.add_implication(before, after)
