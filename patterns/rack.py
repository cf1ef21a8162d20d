"""A rack: the 13 or 14 tiles in front of a player, in no order."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from patterns.faults import Fault, FaultyInputError
from patterns.tiles import KINDS, Tile

RACK_SIZES = (13, 14)


def count_faults(tiles: Iterable[Tile]) -> list[Fault]:
    """Return a fault for each kind of which there are more tiles than the set holds."""
    return [
        Fault("too-many-copies", (), f"{count} of {tile.word} ({tile.value}): the set holds {tile.copies}")
        for tile, count in sorted(Counter(tiles).items(), key=lambda item: item[0].position)
        if count > tile.copies
    ]


@dataclass(frozen=True)
class Pile:
    """Any number of tiles, kept in the fixed order of kinds, so equal piles are equal objects."""

    tiles: tuple[Tile, ...]

    def __post_init__(self) -> None:
        object.__setattr__(self, "tiles", tuple(sorted(self.tiles, key=lambda tile: tile.position)))

    @property
    def counts(self) -> tuple[int, ...]:
        """Copies of each of the 36 kinds, in the order of `KINDS`."""
        counter = Counter(self.tiles)
        return tuple(counter[tile] for tile in KINDS)


@dataclass(frozen=True)
class Rack(Pile):
    """13 or 14 tiles.

    Raises:
        FaultyInputError: a wrong number of tiles, or more copies of a kind than exist.
    """

    def __post_init__(self) -> None:
        super().__post_init__()
        faults = count_faults(self.tiles)
        if len(self.tiles) not in RACK_SIZES:
            faults.insert(0, Fault("wrong-count", (), f"{len(self.tiles)} tiles: a rack has 13 or 14"))
        if faults:
            raise FaultyInputError(faults)
