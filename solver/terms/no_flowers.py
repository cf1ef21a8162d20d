"""Limit: never pass a flower."""

from __future__ import annotations

from dataclasses import dataclass

from patterns.tiles import Tile
from solver.terms.limit import Outcome
from solver.terms.variables import Variables


@dataclass(frozen=True)
class NoFlowers:
    """No flower goes."""

    place: tuple[str | int, ...] = ("no_flowers",)
    says: str = "no flower may go"

    def add(self, variables: Variables) -> None:
        """Forbid the first flower."""
        variables.forbid(Tile.FLOWER, 1)

    def holds(self, outcome: Outcome) -> bool:
        """Look for a flower."""
        return outcome.passed[Tile.FLOWER] == 0
