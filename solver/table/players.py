"""Players of simulated tables: careful habits, and the advice."""

from __future__ import annotations

from collections import Counter

import numpy as np
from numpy.typing import NDArray

from patterns.card import Card
from patterns.tiles import DRAGONS, WINDS, Tile
from solver.deals import Luck
from solver.passes import PassTable
from solver.rounds import Round
from solver.situation import N_NATURALS, NATURALS, Question, counts_of, tables_of, tiles_away
from solver.table.charleston import Seat


class Careful:
    """A careful person's habits, written down before anything was measured.

    Keeps flowers and pairs (and jokers, as all must); prefers the family that her tiles serve best, by the
    mean tiles away of its three nearest targets; within that family counts how many of the ten nearest
    targets want each tile; passes what fewest want, lone winds and dragons before numbers when equal.
    """

    def choose(self, card: Card, seat: Seat, round_: Round, count: int, luck: Luck) -> tuple[Tile, ...]:
        """Return the tiles that fewest near targets of the favorite family want."""
        return tuple(tile for _, tile in self._ranked(card, seat, luck)[:count])

    def wish(self, card: Card, seat: Seat, luck: Luck) -> int:
        """Return how many of her tiles no near target wants, at most three."""
        return min(3, sum(wanted == 0 for (wanted, *_), _ in self._ranked(card, seat, luck)))

    def _ranked(self, card: Card, seat: Seat, luck: Luck) -> list[tuple[tuple[int, int, int], Tile]]:
        tables, held = tables_of(card), counts_of(seat.tiles.elements())
        away = tiles_away(tables, held[:N_NATURALS], seat.tiles[Tile.JOKER])
        families = np.array([card.families.index(hand.family) for hand in card.hands])[tables.hand]
        means = [np.sort(away[families == family])[:3].mean() for family in range(len(card.families))]
        mine = np.flatnonzero(families == int(np.argmin(means)))
        near = mine[np.argsort(away[mine], kind="stable")[:10]]
        want = (tables.plain[near] + tables.grouped[near]).astype(np.int64)
        copies: Counter[Tile] = Counter()
        ranked = []
        naturals = [tile for tile in NATURALS for _ in range(seat.tiles[tile])]
        for order, tile in enumerate(luck.shuffled(naturals)):
            copies[tile] += 1
            wanted = int((want[:, tile.position] >= copies[tile]).sum())
            kept = 20 * (tile is Tile.FLOWER) + 5 * (seat.tiles[tile] > 1)
            number = int(tile not in (*WINDS, *DRAGONS))
            ranked.append(((wanted + kept, number, order), tile))
        return sorted(ranked, key=lambda item: item[0])


# Worths this near to the greatest, as a share of it, are ties, as in the model.
_TIE = 1e-9


class ByWorth:
    """The pass that leaves the most rack strength: the advice."""

    def choose(self, card: Card, seat: Seat, round_: Round, count: int, luck: Luck) -> tuple[Tile, ...]:
        """Return the best pass."""
        return self.best(self._question(card, seat, round_, count))[1]

    def wish(self, card: Card, seat: Seat, luck: Luck) -> int:
        """Return the number of tiles that is worth most."""
        questions = [self._question(card, seat, Round.COURTESY, count) for count in range(4)]
        return max((self.best(question)[0], count) for count, question in enumerate(questions))[1]

    def best(self, question: Question) -> tuple[float, tuple[Tile, ...]]:
        """Return what the best pass is worth, and the pass; limits do not count."""
        table = PassTable.of(question)
        worth = self.worth(table)
        first = int(np.flatnonzero(worth >= worth.max() * (1 - _TIE))[0])
        return float(worth.max()), table.tiles(first)

    def worth(self, table: PassTable) -> NDArray[np.float64]:
        """Return (P,) what the passes of a table are worth."""
        return table.strength

    def _question(self, card: Card, seat: Seat, round_: Round, count: int) -> Question:
        return Question(card, seat.rack, round_, count, seen=seat.seen(), alternatives=0)
