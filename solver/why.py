"""Why this pass: how hands and families stand after it, what other tiles cost, what hangs on the arrivals."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import overload

import numpy as np
from numpy.typing import NDArray

from patterns.card import Hand, Target
from patterns.stopping import check_stop
from patterns.tiles import Tile
from solver.arrivals import Arrivals, Odds
from solver.limits import Limit, hand_weights
from solver.passes import PassTable, Score, Valued
from solver.situation import DECIMALS, N_NATURALS, CardTables, Question, Situation, counts_of, greatest_first

SHARES = (0.8, 1.2)
_MOST_REASONS = 3


def union(reach: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return (...) chances that some of (..., hands) hands is completed, hands taken to be independent.

    Hands share tiles, so it is a guide and not exact; the lengths of play, fitted to games, take up what it
    misses.
    """
    chance: NDArray[np.float64] = 1 - np.prod(1 - reach, axis=-1)
    return chance


@dataclass(frozen=True)
class HandStanding:
    """One hand after a pass, by its best target.

    Attributes:
        reach: Chance of completing the target, 0-1; ``before`` is the hand's with the whole rack.
        alone: Chance for a player who goes for the hand alone, by whichever target is then likeliest, 0-1;
            None where no odds are stated.
        served_by: Tiles kept that serve the target, jokers last, of which there are ``jokers_used``.
        missing: Tiles still lacking once the jokers are used.
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

    @property
    def lost(self) -> float:
        """By how much."""
        return self.before - self.after


@dataclass(frozen=True, eq=False)
class Standings(Sequence[HandStanding]):
    """Every hand that has any reach after a pass, likeliest first, each described when it is looked at.

    Few of them are ever shown. Odds are what comes, for chances that come true; None: none are stated.
    """

    situation: Situation
    tables: CardTables
    before: Score
    after: Score
    odds: Odds | None

    @cached_property
    def order(self) -> NDArray[np.intp]:
        """Indexes of the hands on the card."""
        order = greatest_first(self.after.reach)
        return order[self.after.reach[order] > 0]

    @cached_property
    def some_hand(self) -> float | None:
        """Chance of completing some hand that counts; None where it is not stated.

        For each length of play the best targets of the hands are taken to be independent, then the
        lengths are mixed.
        """
        if self.odds is None or self.odds.some_hand is None or not self._room_for(self.odds.some_hand):
            return None
        kept, targets = self._kept, self.after.target[self.order]
        some = sum(
            share * union(replace(self.situation, arrivals=part).reach(self.tables, kept, targets))
            for share, part in self.odds.some_hand.parts
        )
        return float(self.odds.sharpness.of(np.asarray(some)))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and tuple(self) == tuple(other)

    def __len__(self) -> int:
        return len(self.order)

    @overload
    def __getitem__(self, place: int) -> HandStanding: ...
    @overload
    def __getitem__(self, place: slice) -> tuple[HandStanding, ...]: ...
    def __getitem__(self, place: int | slice) -> HandStanding | tuple[HandStanding, ...]:
        places = range(len(self))[place]
        return tuple(map(self._described, places)) if isinstance(places, range) else self._described(places)

    @property
    def _kept(self) -> NDArray[np.int8]:
        kept: NDArray[np.int8] = self.situation.held - counts_of(self.after.passed)[:N_NATURALS]
        return kept

    def _room_for(self, coming: Arrivals) -> bool:
        """Return whether enough is unseen for so much to come."""
        return coming.most <= self.situation.outlook.naturals

    @cached_property
    def _alone(self) -> Sequence[float | None]:
        """Chance of each hand alone, in order; at most that of some hand where it is stated."""
        if self.odds is None or not all(map(self._room_for, self.odds.alone)):
            return [None] * len(self.order)
        reach = np.zeros(len(self.tables.targets))
        for place, coming in enumerate(self.odds.alone):
            of = np.flatnonzero(self.tables.makes == place)
            reach[of] = replace(self.situation, arrivals=coming).reach(self.tables, self._kept, of)
        best = np.maximum.reduceat(reach, self.tables.first_of_hand())[self.order]
        most = 1.0 if self.some_hand is None else self.some_hand
        chances: list[float] = np.minimum(best, most).tolist()
        return chances

    def _described(self, place: int) -> HandStanding:
        """Describe the hand at one place.

        Jokers go first where the fewest naturals beyond those lacking are unseen; ties in the fixed order.
        """
        hand, unseen = int(self.order[place]), self.situation.unseen
        target = self.tables.targets[int(self.after.target[hand])]
        kept = Counter(self.situation.rack.tiles)
        kept.subtract(self.after.passed)
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
            hardest = min(
                +groups, key=lambda tile: (int(unseen[tile.position]) - lacking[tile], tile.position)
            )
            groups[hardest] -= 1
            lacking[hardest] -= 1
        return HandStanding(
            self.tables.card.hands[hand],
            target,
            float(self.after.reach[hand]),
            float(self.before.reach[hand]),
            self._alone[place],
            (*served, *[Tile.JOKER] * jokers),
            tuple(sorted((+lacking).elements(), key=lambda tile: tile.position)),
            jokers,
        )


@dataclass(frozen=True)
class FamilyShare:
    """How much of the rack strength a family's hands have: with the whole rack, and after the pass, 0-1."""

    name: str
    before: float
    after: float


@dataclass(frozen=True)
class Sensitivity:
    """The answer under fewer or more arrivals.

    Attributes:
        share: Draws and claims as a share of those assumed, as far as the unseen tiles allow.
        passed: The best pass then, ``same`` if the one advised is worth no less within the resolution.
        regret: Strength by which the advised pass is then behind.
    """

    share: float
    arrivals: Arrivals
    passed: tuple[Tile, ...]
    same: bool
    regret: float


def best_with_each(table: PassTable, limits: tuple[Limit, ...], advised: int) -> dict[Tile, Valued | None]:
    """Return the best pass with each kind of tile in it, None where limits allow none; nothing if none go."""
    if not table.masks[advised]:
        return {}
    allowed = np.fromiter(table.ranked(limits), np.intp)
    found: dict[Tile, Valued | None] = {}
    for tile, bit in zip(table.bits.kinds, table.bits.first_bit, strict=True):
        having = allowed[table.masks[allowed] >> np.uint32(bit) & 1 > 0]
        found[tile] = table.valued(int(having[0])) if len(having) else None
    return found


def family_shares(table: PassTable, after: Score) -> tuple[FamilyShare, ...]:
    """Return the shares of rack strength of the families that have any, the greatest after the pass first."""
    families, names = table.tables.card.families, table.tables.card.family_of_hand
    family = [families.index(name) for name in names]
    before, left = (
        np.bincount(family, table.weights * table.objective.counted(reach), len(families))
        for reach in (table.before.reach, after.reach)
    )
    had, has = (worth / (worth.sum() or 1.0) for worth in (before, left))
    order = [int(each) for each in greatest_first(has) if before[each] > 0]
    return tuple(FamilyShare(families[each], float(had[each]), float(has[each])) for each in order)


def hand_losses(question: Question, before: Score, after: Score) -> list[tuple[float, HandLoss]]:
    """Return every hand and how much less it counts for after one pass than after another, the most first."""
    card, counted = question.card, question.objective.counted
    weights = hand_weights(card, question.limits)
    less = np.round((counted(before.reach) - counted(after.reach)) * weights, DECIMALS)
    return [
        (float(less[hand]), HandLoss(card.hands[hand], float(before.reach[hand]), float(after.reach[hand])))
        for hand in greatest_first(less).tolist()
    ]


def reasons(question: Question, best: Score, made: Score) -> tuple[HandLoss, ...]:
    """Return the few hands that one pass keeps better than another, what counts most first, at most three."""
    return tuple(loss for less, loss in hand_losses(question, best, made)[:_MOST_REASONS] if less > 0)


def sensitivity(question: Question, passed: Sequence[Tile]) -> tuple[Sensitivity, ...]:
    """Return whether a pass, of its number of tiles, is best under fewer and under more arrivals, too."""
    asked = question.giving(len(passed))
    arrivals, room = asked.situation.arrivals, asked.situation.outlook.naturals
    found = []
    for share in SHARES:
        check_stop()
        changed = replace(asked, arrivals=arrivals.scaled(share, room))
        table = PassTable.of(changed)
        best, advised = next(table.ranked(question.limits.on_pass), None), table.index_of(passed)
        if best is not None:
            regret = max(0.0, float(table.strength[best] - table.strength[advised]))
            same = best == advised or regret <= table.resolution
            found.append(Sensitivity(share, changed.situation.arrivals, table.tiles(best), same, regret))
    return tuple(found)
