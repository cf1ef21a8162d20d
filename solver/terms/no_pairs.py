"""Limit: never pass two alike."""

from __future__ import annotations

from dataclasses import dataclass

from solver.terms.limit import Outcome
from solver.terms.variables import Variables


@dataclass(frozen=True)
class NoPairs:
    """No two tiles of the pass are alike."""

    place: tuple[str | int, ...] = ("no_pairs",)
    says: str = "no two alike may go"

    def add(self, variables: Variables) -> None:
        """Forbid every second copy."""
        for tile in variables.bits.kinds:
            variables.forbid(tile, 2)

    def holds(self, outcome: Outcome) -> bool:
        """Look for two alike."""
        return max(outcome.passed.values(), default=0) < 2
