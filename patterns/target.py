"""A target: one concrete demand for 14 tiles."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import cached_property

from patterns.tiles import Tile

HAND_SIZE = 14
SMALLEST_JOKER_GROUP = 3


@dataclass(frozen=True)
class TileGroup:
    """1 to 6 tiles alike. A group of three or more may hold jokers; a single or a pair may not."""

    tile: Tile
    count: int

    @property
    def takes_jokers(self) -> bool:
        """Whether a joker may stand for a tile of this group (common practice, no source)."""
        return self.count >= SMALLEST_JOKER_GROUP


@dataclass(frozen=True)
class Target:
    """The groups of one concrete hand, in the order the card writes them."""

    groups: tuple[TileGroup, ...]

    @cached_property
    def needs(self) -> tuple[tuple[Tile, int, int], ...]:
        """Per kind in the fixed order: (tile, wanted in singles and pairs, wanted in groups of 3+)."""
        plain: Counter[Tile] = Counter()
        grouped: Counter[Tile] = Counter()
        for group in self.groups:
            (grouped if group.takes_jokers else plain)[group.tile] += group.count
        return tuple(
            (tile, plain[tile], grouped[tile])
            for tile in sorted(plain.keys() | grouped.keys(), key=lambda tile: tile.position)
        )

    @cached_property
    def jokers_needed(self) -> int:
        """Jokers without which the target cannot be: what its groups ask beyond the set's copies."""
        return sum(
            max(0, plain + grouped - tile.copies)
            for tile, plain, grouped in self.needs
            if plain <= tile.copies
        )

    @property
    def possible(self) -> bool:
        """Whether the set's naturals and jokers can make it at all."""
        return self.jokers_needed <= Tile.JOKER.copies and all(
            plain <= tile.copies for tile, plain, _ in self.needs
        )
