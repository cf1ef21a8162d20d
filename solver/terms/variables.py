"""The variables every term speaks about."""

from __future__ import annotations

from dataclasses import dataclass

from ortools.sat.python import cp_model

from patterns.tiles import Tile
from solver.options import Options
from solver.rack_bits import RackBits


@dataclass(frozen=True, eq=False)
class Variables:
    """A model under construction.

    Attributes:
        bits: Encoding of the rack.
        passed: One boolean a bit: at least so many copies of this kind go.
        options: The options of the hands.
        chosen: One boolean an option: the hand is counted at its worth.
        families: Family of each hand, by hand index.
    """

    model: cp_model.CpModel
    bits: RackBits
    passed: tuple[cp_model.IntVar, ...]
    options: Options
    chosen: tuple[cp_model.IntVar, ...]
    families: tuple[str, ...]

    @classmethod
    def new(
        cls,
        bits: RackBits,
        options: Options,
        families: tuple[str, ...],
        model: cp_model.CpModel | None = None,
    ) -> Variables:
        """Make the variables, in a new model or beside others in one."""
        model = cp_model.CpModel() if model is None else model
        passed = tuple(model.new_bool_var("") for _ in range(bits.size))
        chosen = tuple(model.new_bool_var("") for _ in range(len(options.hand)))
        return cls(model, bits, passed, options, chosen, families)

    def at_least(self, tile: Tile, copies: int) -> cp_model.IntVar | None:
        """Return "at least ``copies`` (from 1) of this kind go", or None if the rack has fewer."""
        if tile not in self.bits.kinds:
            return None
        index = self.bits.kinds.index(tile)
        return self.passed[self.bits.bit(index, copies)] if copies <= self.bits.counts[index] else None

    def forbid(self, tile: Tile, copies: int) -> None:
        """Forbid that ``copies`` (from 1) or more of a kind go."""
        boolean = self.at_least(tile, copies)
        if boolean is not None:
            self.model.add(boolean == 0)
