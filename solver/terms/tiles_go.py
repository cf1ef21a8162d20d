"""Limit: so many tiles of a kind must go."""

from __future__ import annotations

from dataclasses import dataclass

from patterns.tiles import Tile
from solver.terms.limit import Outcome
from solver.terms.variables import Variables


@dataclass(frozen=True)
class TilesGo:
    """At least ``copies`` of ``tile``, which the rack holds, go."""

    tile: Tile
    copies: int

    @property
    def place(self) -> tuple[str | int, ...]:
        """Where it stands."""
        return ("go",)

    @property
    def says(self) -> str:
        """The limit in words."""
        return f"{self.copies} of {self.tile.word} must go"

    def add(self, variables: Variables) -> None:
        """Force the bit of that copy."""
        boolean = variables.at_least(self.tile, self.copies)
        if boolean is None:
            variables.model.add_bool_or([])
        else:
            variables.model.add(boolean == 1)

    def holds(self, outcome: Outcome) -> bool:
        """Count what goes."""
        return outcome.passed[self.tile] >= self.copies
