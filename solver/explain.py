"""How a hand stands with the tiles kept: which serve it, which are missing, where jokers go."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import overload

import numpy as np

from patterns.card import Hand
from patterns.target import Target
from patterns.tiles import Tile
from solver.card_tables import CardTables
from solver.rescore import Score
from solver.situation import Situation


@dataclass(frozen=True)
class HandStanding:
    """One hand after a pass, by its best target.

    Attributes:
        reach: Chance of completing the target, 0-1.
        before: The hand's reach with the whole rack.
        served_by: Tiles kept that serve the target, jokers last.
        missing: Tiles still lacking once the jokers are used.
        jokers_used: Jokers of the rack that serve.
    """

    hand: Hand
    target: Target
    reach: float
    before: float
    served_by: tuple[Tile, ...]
    missing: tuple[Tile, ...]
    jokers_used: int

    @property
    def tiles_away(self) -> int:
        """How many tiles the target lacks."""
        return len(self.missing)


@dataclass(frozen=True)
class HandLoss:
    """A hand that a pass makes less likely."""

    hand: Hand
    before: float
    after: float


def standing(
    situation: Situation, tables: CardTables, before: Score, after: Score, hand: int
) -> HandStanding:
    """Describe one hand after a pass.

    Jokers go first where the fewest naturals beyond those lacking are unseen; ties in the fixed order.

    Args:
        situation: Rack, pool and arrivals.
        tables: The card.
        before: The whole rack's score.
        after: The score after the pass.
        hand: Index of the hand on the card.
    """
    target = tables.targets[int(after.target[hand])]
    kept = Counter(situation.rack.tiles)
    kept.subtract(after.passed)
    unseen = situation.unseen
    served: list[Tile] = []
    lacking: Counter[Tile] = Counter()
    groups: Counter[Tile] = Counter()
    for tile, plain, grouped in target.needs:
        useful = min(kept[tile], plain + grouped)
        served += [tile] * useful
        lacking[tile] = plain + grouped - useful
        groups[tile] = min(lacking[tile], grouped)
    jokers = min(kept[Tile.JOKER], groups.total())
    for _ in range(jokers):
        hardest = min(+groups, key=lambda tile: (int(unseen[tile.position]) - lacking[tile], tile.position))
        groups[hardest] -= 1
        lacking[hardest] -= 1
    return HandStanding(
        tables.card.hands[hand],
        target,
        float(after.reach[hand]),
        float(before.reach[hand]),
        (*served, *[Tile.JOKER] * jokers),
        tuple(sorted((+lacking).elements(), key=lambda tile: tile.position)),
        jokers,
    )


@dataclass(frozen=True, eq=False)
class Standings(Sequence[HandStanding]):
    """Hands likeliest first, each described when it is looked at: few of them are ever shown.

    Attributes:
        order: Indexes of the hands on the card.
        describe: Describes one.
    """

    order: tuple[int, ...]
    describe: Callable[[int], HandStanding]

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and tuple(self) == tuple(other)

    def __hash__(self) -> int:
        return hash(self.order)

    def __len__(self) -> int:
        return len(self.order)

    @overload
    def __getitem__(self, place: int) -> HandStanding: ...
    @overload
    def __getitem__(self, place: slice) -> tuple[HandStanding, ...]: ...
    def __getitem__(self, place: int | slice) -> HandStanding | tuple[HandStanding, ...]:
        if isinstance(place, slice):
            return tuple(self.describe(hand) for hand in self.order[place])
        return self.describe(self.order[place])


def standings(situation: Situation, tables: CardTables, before: Score, after: Score) -> Standings:
    """Return every hand that has any reach after a pass, likeliest first; arguments as `standing`."""
    order = np.argsort(-after.reach, kind="stable")
    return Standings(
        tuple(order[after.reach[order] > 0].tolist()), partial(standing, situation, tables, before, after)
    )
