"""How a hand stands with the tiles kept: which serve it, which are missing, where jokers go."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import overload

import numpy as np
from numpy.typing import NDArray

from patterns.card import Hand, Target
from patterns.tiles import Tile
from solver.arrivals import Coming
from solver.card_tables import N_NATURALS, CardTables
from solver.forecast import reach_of_targets, some_hand
from solver.order import greatest_first
from solver.rescore import Score
from solver.situation import Situation, counts_of


@dataclass(frozen=True)
class HandStanding:
    """One hand after a pass, by its best target.

    Attributes:
        reach: Chance of completing the target, 0-1.
        before: The hand's reach with the whole rack.
        alone: Chance of completing the target for a player who goes for it alone, 0-1; None where
            nothing was measured.
        served_by: Tiles kept that serve the target, jokers last.
        missing: Tiles still lacking once the jokers are used.
        jokers_used: Jokers of the rack that serve.
    """

    hand: Hand
    target: Target
    reach: float
    before: float
    alone: float | None
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


@dataclass(frozen=True, eq=False)
class Standings(Sequence[HandStanding]):
    """Every hand that has any reach after a pass, likeliest first.

    Each is described when it is looked at: few of them are ever shown.

    Attributes:
        situation: Rack, pool and arrivals.
        tables: The card.
        before: The whole rack's score.
        after: The score after the pass.
        arrivals_alone: What comes to a player who goes for one target alone; None where nothing was
            measured.
    """

    situation: Situation
    tables: CardTables
    before: Score
    after: Score
    arrivals_alone: Coming | None

    @cached_property
    def order(self) -> NDArray[np.intp]:
        """Indexes of the hands on the card."""
        order = greatest_first(self.after.reach)
        return order[self.after.reach[order] > 0]

    @cached_property
    def some_hand(self) -> float | None:
        """Chance of completing some hand that counts; None where nothing was measured.

        Where the likeliest hand alone has a greater chance than the union, it is that.
        """
        if self.arrivals_alone is None:
            return None
        union = some_hand(self.situation, self.tables, self._kept, self.after.target[self.order])
        return max((union, *(chance for chance in self._alone if chance is not None)))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and tuple(self) == tuple(other)

    def __hash__(self) -> int:
        return hash(tuple(self.order.tolist()))

    def __len__(self) -> int:
        return len(self.order)

    @overload
    def __getitem__(self, place: int) -> HandStanding: ...
    @overload
    def __getitem__(self, place: slice) -> tuple[HandStanding, ...]: ...
    def __getitem__(self, place: int | slice) -> HandStanding | tuple[HandStanding, ...]:
        if not isinstance(place, slice):
            return self._described(slice(place, place + 1 or None))[0]
        return self._described(place)

    @cached_property
    def _kept(self) -> NDArray[np.int8]:
        return self.situation.held - counts_of(self.after.passed)[:N_NATURALS]

    @cached_property
    def _alone(self) -> Sequence[float | None]:
        """Chance of each hand alone, in order."""
        if self.arrivals_alone is None or self.arrivals_alone.most > self.situation.outlook.naturals:
            return [None] * len(self.order)
        targets = self.after.target[self.order]
        chances = reach_of_targets(self.situation, self.tables, self._kept, targets, self.arrivals_alone)
        return [float(chance) for chance in chances]

    def _described(self, places: slice) -> tuple[HandStanding, ...]:
        return tuple(
            standing(self.situation, self.tables, self.before, self.after, hand, chance)
            for hand, chance in zip(self.order[places].tolist(), self._alone[places], strict=True)
        )


def standing(
    situation: Situation, tables: CardTables, before: Score, after: Score, hand: int, alone: float | None
) -> HandStanding:
    """Describe one hand after a pass.

    Jokers go first where the fewest naturals beyond those lacking are unseen; ties in the fixed order.

    Args:
        situation: Rack, pool and arrivals.
        tables: The card.
        before: The whole rack's score.
        after: The score after the pass.
        hand: Index of the hand on the card.
        alone: As in the result.
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
        alone,
        (*served, *[Tile.JOKER] * jokers),
        tuple(sorted((+lacking).elements(), key=lambda tile: tile.position)),
        jokers,
    )
