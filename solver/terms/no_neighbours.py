"""Limit: never pass two tiles of one suit whose ranks are one apart."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import combinations

from patterns.tiles import Tile
from solver.terms.limit import Outcome
from solver.terms.variables import Variables


def _neighbours(kinds: Iterable[Tile]) -> list[tuple[Tile, Tile]]:
    return [
        (first, second)
        for first, second in combinations(kinds, 2)
        if first.suit is not None
        and first.suit is second.suit
        and first.rank is not None
        and second.rank is not None
        and abs(first.rank - second.rank) == 1
    ]


@dataclass(frozen=True)
class NoNeighbours:
    """No two tiles of the pass are neighbours in one suit."""

    place: tuple[str | int, ...] = ("no_neighbours",)
    says: str = "no two neighbours of one suit may go"

    def add(self, variables: Variables) -> None:
        """Let at most one of two neighbouring kinds go."""
        for first, second in _neighbours(variables.bits.kinds):
            pair = [variables.at_least(tile, 1) for tile in (first, second)]
            variables.model.add_bool_or([boolean.Not() for boolean in pair if boolean is not None])

    def holds(self, outcome: Outcome) -> bool:
        """Look for neighbours."""
        return not _neighbours(+outcome.passed)
