"""Limit: so many tiles of a kind must stay."""

from __future__ import annotations

from dataclasses import dataclass

from patterns.tiles import Tile
from solver.terms.limit import Outcome
from solver.terms.variables import Variables


@dataclass(frozen=True)
class TilesStay:
    """At least ``copies`` of ``tile`` stay."""

    tile: Tile
    copies: int

    @property
    def place(self) -> tuple[str | int, ...]:
        """Where it stands."""
        return ("stay",)

    @property
    def says(self) -> str:
        """The limit in words."""
        return f"{self.copies} of {self.tile.word} must stay"

    def add(self, variables: Variables) -> None:
        """Forbid the copy that would leave too few."""
        if self.tile in variables.bits.kinds:
            held = variables.bits.counts[variables.bits.kinds.index(self.tile)]
            variables.forbid(self.tile, held - self.copies + 1)

    def holds(self, outcome: Outcome) -> bool:
        """Count what is left."""
        return outcome.held[self.tile] - outcome.passed[self.tile] >= self.copies
