"""A seat during the Charleston: what its player knows, and the rule its player passes by."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import Protocol

from patterns.card import Card
from patterns.rack import Rack
from patterns.tiles import Tile
from solver.chance import Chance
from solver.rounds import Round
from solver.situation import still_elsewhere


@dataclass
class Seat:
    """A player's tiles and memory.

    Attributes:
        tiles: Tiles held.
        passed: Tiles this player gave away, in order.
    """

    tiles: Counter[Tile]
    passed: list[Tile] = field(default_factory=list)

    @property
    def rack(self) -> Rack:
        """The tiles as a rack."""
        return Rack(tuple(self.tiles.elements()))

    def seen(self) -> tuple[Tile, ...]:
        """Return own tiles passed, as far as they can still be elsewhere."""
        return still_elsewhere(self.passed, self.tiles)


class PassRule(Protocol):
    """How a player passes."""

    @property
    def name(self) -> str:
        """What tables of results call it."""

    def choose(self, card: Card, seat: Seat, round_: Round, count: int, chance: Chance) -> tuple[Tile, ...]:
        """Return so many tiles of the seat's that are not jokers."""

    def wish(self, card: Card, seat: Seat, chance: Chance) -> int:
        """Return how many tiles to exchange at the courtesy pass, 0-3."""
