"""The rack's tiles one by one: bit i stands for "at least so many copies of this kind are passed"."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from patterns.tiles import Tile
from solver.card_tables import NATURALS


@dataclass(frozen=True)
class RackBits:
    """Order encoding of a pass: one bit a tile that may go (at most 14; jokers have none).

    Attributes:
        kinds: Kinds held, in the fixed order, jokers left out.
        counts: Copies held of each.
    """

    kinds: tuple[Tile, ...]
    counts: tuple[int, ...]

    @classmethod
    def of(cls, held: NDArray[np.int8]) -> RackBits:
        """Make the encoding from (35,) naturals held."""
        kinds = np.flatnonzero(held)
        return cls(tuple(NATURALS[kind] for kind in kinds), tuple(int(held[kind]) for kind in kinds))

    @cached_property
    def first_bit(self) -> tuple[int, ...]:
        """Bit of the first copy of each kind held."""
        return tuple(int(first) for first in np.cumsum((0, *self.counts[:-1])))

    @property
    def size(self) -> int:
        """How many bits there are."""
        return sum(self.counts)

    def bit(self, kind_index: int, copy: int) -> int:
        """Return the bit for "at least ``copy`` (from 1) copies of this kind go"."""
        return self.first_bit[kind_index] + copy - 1

    @cached_property
    def positions(self) -> NDArray[np.intp]:
        """Columns, among the 35 naturals, of the kinds held."""
        return np.array([tile.position for tile in self.kinds], np.intp)

    @cached_property
    def thermometer(self) -> NDArray[np.uint32]:
        """(kinds held, most copies + 1): bits of the first so many copies of a kind."""
        most = max(self.counts, default=0)
        return np.array(
            [
                [self.up_to(index, min(copies, count)) for copies in range(most + 1)]
                for index, count in enumerate(self.counts)
            ],
            np.uint32,
        ).reshape(len(self.kinds), most + 1)

    def losses(self, most: int) -> NDArray[np.uint32]:
        """Return every way for at most so many tiles to go: bit sets with the lower copies of a kind."""
        masks = np.zeros(1, np.uint32)
        for index, count in enumerate(self.counts):
            masks = np.concatenate(
                [masks | np.uint32(self.up_to(index, copies)) for copies in range(min(count, most) + 1)]
            )
            masks = masks[np.bitwise_count(masks) <= most]
        return masks

    def passes(self, size: int) -> NDArray[np.uint32]:
        """Return every pass of so many tiles, as `losses`."""
        masks = self.losses(size)
        exact: NDArray[np.uint32] = masks[np.bitwise_count(masks) == size]
        return exact

    def up_to(self, kind_index: int, copies: int) -> int:
        """Return the bits of the first ``copies`` copies of a kind."""
        return ((1 << copies) - 1) << self.first_bit[kind_index]
