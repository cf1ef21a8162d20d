"""Pass rules to measure against one another."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from patterns.card import Card
from patterns.tiles import DRAGONS, WINDS, Tile
from solver.card_tables import N_NATURALS, tables_of
from solver.chance import Chance
from solver.nearness import tiles_away
from solver.rounds import Round
from solver.situation import counts_of
from solver.table.seat import Seat


def _naturals(seat: Seat) -> list[Tile]:
    return [
        tile for tile in sorted(seat.tiles.elements(), key=lambda t: t.position) if tile is not Tile.JOKER
    ]


def _away(card: Card, seat: Seat) -> NDArray[np.int64]:
    """Return (T,) tiles away of every target."""
    held = counts_of(seat.tiles.elements())[:N_NATURALS]
    return tiles_away(tables_of(card), held, seat.tiles[Tile.JOKER])


@dataclass(frozen=True)
class RandomLegal:
    """Any tiles that are not jokers."""

    name: str = "random"

    def choose(self, card: Card, seat: Seat, round_: Round, count: int, chance: Chance) -> tuple[Tile, ...]:
        """Return random tiles."""
        return tuple(chance.shuffled(_naturals(seat))[:count])

    def wish(self, card: Card, seat: Seat, chance: Chance) -> int:
        """Return any number."""
        return chance.below(4)


@dataclass(frozen=True)
class Nearest:
    """Keep what serves the nearest target; pass at random from the rest."""

    name: str = "nearest"

    def choose(self, card: Card, seat: Seat, round_: Round, count: int, chance: Chance) -> tuple[Tile, ...]:
        """Return tiles the nearest target has no use for, then random others."""
        free, needed = self._split(card, seat)
        return (*chance.shuffled(free), *chance.shuffled(needed))[:count]

    def wish(self, card: Card, seat: Seat, chance: Chance) -> int:
        """Return how many tiles are free, at most three."""
        return min(3, len(self._split(card, seat)[0]))

    def _split(self, card: Card, seat: Seat) -> tuple[list[Tile], list[Tile]]:
        target = tables_of(card).targets[int(_away(card, seat).argmin())]
        left = Counter({tile: plain + grouped for tile, plain, grouped in target.needs})
        free: list[Tile] = []
        needed: list[Tile] = []
        for tile in _naturals(seat):
            (needed if left[tile] > 0 else free).append(tile)
            left[tile] -= 1
        return free, needed


@dataclass(frozen=True)
class Careful:
    """A careful person's habits, written down before anything was measured.

    Keeps flowers and pairs (and jokers, as all must); prefers the family that her tiles serve best, by the
    mean tiles away of its three nearest targets; within that family counts how many of the ten nearest
    targets want each tile; passes what fewest want, lone honours before numbers when equal.
    """

    name: str = "careful"

    def choose(self, card: Card, seat: Seat, round_: Round, count: int, chance: Chance) -> tuple[Tile, ...]:
        """Return the tiles that fewest near targets of the favourite family want."""
        return tuple(tile for _, tile in self._ranked(card, seat, chance)[:count])

    def wish(self, card: Card, seat: Seat, chance: Chance) -> int:
        """Return how many of her tiles no near target wants, at most three."""
        return min(3, sum(wanted == 0 for (wanted, *_), _ in self._ranked(card, seat, chance)))

    def _ranked(self, card: Card, seat: Seat, chance: Chance) -> list[tuple[tuple[int, int, int], Tile]]:
        tables, away = tables_of(card), _away(card, seat)
        families = np.array([card.families.index(hand.family) for hand in card.hands])[tables.hand]
        means = [np.sort(away[families == family])[:3].mean() for family in range(len(card.families))]
        mine = np.flatnonzero(families == int(np.argmin(means)))
        near = mine[np.argsort(away[mine], kind="stable")[:10]]
        want = (tables.plain[near] + tables.grouped[near]).astype(np.int64)
        copies: Counter[Tile] = Counter()
        ranked = []
        for order, tile in enumerate(chance.shuffled(_naturals(seat))):
            copies[tile] += 1
            wanted = int((want[:, tile.position] >= copies[tile]).sum())
            kept = 20 * (tile is Tile.FLOWER) + 5 * (seat.tiles[tile] > 1)
            number = int(tile not in (*WINDS, *DRAGONS))
            ranked.append(((wanted + kept, number, order), tile))
        return sorted(ranked, key=lambda item: item[0])
