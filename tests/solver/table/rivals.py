"""Players that the advice is measured against: any pass at all, and what the nearest target needs least."""

from collections import Counter
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from patterns.card import Card
from patterns.tiles import KINDS, Tile
from solver.deals import Luck
from solver.passes import PassTable
from solver.rounds import Round
from solver.situation import counts_of, tables_of, tiles_away
from solver.table.charleston import Seat
from solver.table.players import ByWorth


def naturals_of(seat: Seat) -> list[Tile]:
    """Return the tiles of a seat that may go, in the fixed order."""
    return [tile for tile in KINDS[:-1] for _ in range(seat.tiles[tile])]


class RandomLegal:
    def choose(self, card: Card, seat: Seat, round_: Round, count: int, luck: Luck) -> tuple[Tile, ...]:
        return tuple(luck.shuffled(naturals_of(seat))[:count])

    def wish(self, card: Card, seat: Seat, luck: Luck) -> int:
        return luck.below(4)


class Nearest:
    """Keep what serves the nearest target; pass at random from the rest."""

    def choose(self, card: Card, seat: Seat, round_: Round, count: int, luck: Luck) -> tuple[Tile, ...]:
        free, needed = self._split(card, seat)
        return (*luck.shuffled(free), *luck.shuffled(needed))[:count]

    def wish(self, card: Card, seat: Seat, luck: Luck) -> int:
        return min(3, len(self._split(card, seat)[0]))

    def _split(self, card: Card, seat: Seat) -> tuple[list[Tile], list[Tile]]:
        """Return the tiles that the nearest target has no use for, and the others."""
        held = counts_of(seat.tiles.elements())
        away = tiles_away(tables_of(card), held[:-1], int(held[-1]))
        target = tables_of(card).targets[int(away.argmin())]
        left = Counter({tile: plain + grouped for tile, plain, grouped in target.needs})
        free: list[Tile] = []
        needed: list[Tile] = []
        for tile in naturals_of(seat):
            (needed if left[tile] > 0 else free).append(tile)
            left[tile] -= 1
        return free, needed


@dataclass(frozen=True)
class ByPower(ByWorth):
    """The pass that leaves the greatest sum of weight x reach ** power; 1 is the plain sum of reach."""

    power: float

    def worth(self, table: PassTable) -> NDArray[np.float64]:
        worth: NDArray[np.float64] = table.weights @ table.reach**self.power
        return worth
